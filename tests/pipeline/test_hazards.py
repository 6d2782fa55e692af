"""The cautious end: the right side of each property, dissent included, figures that nobody meant left out."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from cutpoint.pipeline.evaluate import FLASHES_AS_IT_BOILS
from cutpoint.pipeline.hazards import hazards
from cutpoint.schema.tables import check, empty

CAS = "64-17-5"
COMPONENTS = pd.DataFrame({"cas": [CAS], "molar_mass_g_mol": [46.07]})
UNITS = {"flash_point": "K", "autoignition_temperature": "K"}


def limits(property: str, rows: list[tuple[float, str | None]], value: float) -> pd.Series:
    """The hazard row from (value, reason; None if accepted) and the evaluated value."""
    frame = empty("observation").reindex(range(len(rows))).assign(
        source=[f"house{place}" for place in range(len(rows))], source_row=1, field="x", cas=CAS, property=property,
        value=[row[0] for row in rows], unit=UNITS.get(property, "1"), basis="compiled", raw="x",
        status=["accepted" if reason is None else "outlier" for _, reason in rows],
        reason=[reason for _, reason in rows],
    )  # fmt: skip
    evaluations = pd.DataFrame({"cas": [CAS], "property": [property], "value": [value]})
    return hazards(check("observation", frame, "test"), evaluations, COMPONENTS).iloc[0]


@pytest.mark.parametrize(
    ("property", "dissent", "value"),
    [
        ("flash_point", 260.0, 286.0),
        ("autoignition_temperature", 600.0, 636.0),
        ("lower_flammability_limit", 0.025, 0.033),
        ("upper_flammability_limit", 0.28, 0.19),
    ],
)
def test_a_real_dissent_on_the_dangerous_side_is_the_cautious_end(property: str, dissent: float, value: float) -> None:
    harmless = value + (value - dissent)
    told = limits(property, [(value, None), (dissent, "outside the consensus"), (harmless, "outside it")], value)
    assert told["value"] == value
    assert told["conservative"] == dissent


@pytest.mark.parametrize(
    ("property", "figure", "value", "slip"),
    [
        (
            "flash_point",
            245.0,
            301.0,
            "outside the consensus near 301 K: a minus sign of degrees Celsius lost or added",
        ),
        ("autoignition_temperature", 363.0, 636.0, "x: the figure of degrees Celsius taken for kelvins"),
        ("lower_flammability_limit", 0.0033, 0.033, "outside the consensus near 0.033: a factor of 10"),
        ("upper_flammability_limit", 0.95, 0.19, "outside the consensus near 0.19: a factor of 10"),
    ],
)
def test_a_figure_that_nobody_meant_is_not(property: str, figure: float, value: float, slip: str) -> None:
    assert limits(property, [(value, None), (figure, slip)], value)["conservative"] == value


def test_a_flash_point_above_the_boiling_point_is_not_either() -> None:
    told = limits("flash_point", [(400.0, FLASHES_AS_IT_BOILS), (286.0, None)], np.nan)
    assert told["conservative"] == told["value"] == 286.0
