"""What can hurt, one row per (component, hazard property, kind of limit).

Flash points, autoignition temperatures and flammability limits come from the
evaluation, beside the cautious end of all their observations: the lowest flash
point, autoignition temperature and lower limit, the highest upper limit. For
safety the widest claim counts, so outliers on the dangerous side stay in that
end, but for figures that nobody meant: those whose reason says that unit, sign,
decimal point or column went wrong. Exposure limits are regulation, not measurement: the lowest is given, and
one stated as a mole fraction is converted at 25 °C and 101 325 Pa.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from cutpoint.schema.properties import MOLAR_VOLUME_OF_AIR_M3_MOL
from cutpoint.schema.tables import check, empty

from .evaluate import FLASHES_AS_IT_BOILS
from .slips import is_no_figure_of_its_own
from .superseded import SUPERSEDED

CAUTIOUS_END = {
    "flash_point": "min",
    "autoignition_temperature": "min",
    "lower_flammability_limit": "min",
    "upper_flammability_limit": "max",
}


def hazards(observations: pd.DataFrame, evaluations: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """The `hazard` frame from the evaluated data; raises BuildFailed if it breaks its contract."""
    molar_mass_kg_mol = components.set_index("cas")["molar_mass_g_mol"] / 1000.0
    parts = [
        _evaluated_limits(observations, evaluations),
        _exposure_limits(observations, molar_mass_kg_mol),
        _peroxide_formers(observations),
    ]
    table = pd.concat([part for part in parts if not part.empty] or [empty("hazard")], ignore_index=True)
    return check("hazard", table.sort_values(["cas", "property", "limit_kind"], ignore_index=True), "hazards")


def _sources(names: pd.Series) -> str:
    return ", ".join(sorted(set(names)))


def _evaluated_limits(observations: pd.DataFrame, evaluations: pd.DataFrame) -> pd.DataFrame:
    """Fire data; where nothing was evaluated (a stream, a refused value) the cautious end stands alone."""
    stated = observations[observations["property"].isin(tuple(CAUTIOUS_END)) & observations["value"].notna()]
    # A flash point at or above the boiling point is that of a solution; it would make a gas look safer than it is.
    left_out = stated["reason"].isin((FLASHES_AS_IT_BOILS, SUPERSEDED))
    stated = stated[~left_out & ~is_no_figure_of_its_own(stated["reason"])]
    grouped = stated.groupby(["cas", "property"])
    table = grouped.agg(
        low=("value", "min"), high=("value", "max"), unit=("unit", "first"), sources=("source", _sources)
    ).reset_index()
    table["conservative"] = np.where(table["property"].map(CAUTIOUS_END) == "min", table["low"], table["high"])
    table = table.merge(evaluations[["cas", "property", "value"]], on=["cas", "property"], how="left")
    table["value"] = table["value"].fillna(table["conservative"])
    return table.assign(limit_kind="value", text=None)


def _exposure_limits(observations: pd.DataFrame, molar_mass_kg_mol: pd.Series) -> pd.DataFrame:
    """The lowest limit of each kind; a mole fraction stays one where no molar mass can turn it into a density."""
    stated = observations[(observations["property"] == "exposure_limit") & observations["value"].notna()].copy()
    stated["limit_kind"] = stated["field"].str.split().str[0].replace({"Ceiling": "ceiling"})
    density = stated["value"] * stated["cas"].map(molar_mass_kg_mol).astype(float) / MOLAR_VOLUME_OF_AIR_M3_MOL
    converted = (stated["unit"] == "1") & density.notna()
    stated["value"] = stated["value"].where(~converted, density)
    stated["unit"] = stated["unit"].where(~converted, "kg_m3")
    key = ["cas", "property", "limit_kind"]
    grouped = stated.groupby([*key, "unit"])
    table = grouped.agg(value=("value", "min"), sources=("source", _sources)).reset_index()
    table = table.sort_values([*key, "unit"]).drop_duplicates(key, keep="last")
    return table.assign(conservative=table["value"], text=None)


def _peroxide_formers(observations: pd.DataFrame) -> pd.DataFrame:
    rows = observations[observations["property"] == "peroxide_former"]
    grouped = rows.groupby(["cas", "property"])
    # Class A is the most dangerous, so the first in the alphabet is the cautious one.
    table = grouped.agg(text=("raw", "min"), sources=("source", _sources)).reset_index()
    return table.assign(limit_kind="class", value=np.nan, conservative=np.nan, unit="class")
