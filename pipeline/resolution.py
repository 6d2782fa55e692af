"""The width of the last printed digit: how finely a source has stated a value.

A value stated to the whole degree may be half a degree off, whatever its
source's care (GUM, JCGM 100:2008, 4.3.7: a rectangular distribution), and two
sources that state it so may agree without having copied.
"""

from __future__ import annotations

import pandas as pd

from cutpoint.schema.properties import ICE_POINT_K

FINEST_STEP_K = 0.01
LARGEST_STEP = 0.02
"""Largest width, relative to the value, that is read off a text."""


def printed_step(values: pd.DataFrame) -> pd.Series:
    """Width of the last digit in the unit of the value, for rows with `value`, `raw` and `unit`."""
    return _step_of_temperature(values["value"]).where(values["unit"] == "K", _step_of_text(values))


def _step_of_temperature(value_K: pd.Series) -> pd.Series:
    """The coarsest of 1, 0.1 and 0.01 K on whose grid the value lies, in kelvins or in degrees Celsius.

    The files hold kelvins converted from degrees, so their text tells nothing.
    """
    step = pd.Series(FINEST_STEP_K, index=value_K.index)
    for width in (0.1, 1.0):
        on_grid = _on_grid(value_K, width) | _on_grid(value_K - ICE_POINT_K, width)
        step = step.where(~on_grid, width)
    return step


def _on_grid(value: pd.Series, width: float) -> pd.Series:
    places = value / width
    return (places - places.round()).abs() < 1e-6


def _step_of_text(values: pd.DataFrame) -> pd.Series:
    """Place of the last digit of the text that is not a trailing zero of a whole number, times the conversion."""
    parts = values["raw"].str.extract(r"^[+-]?(?P<whole>\d*)\.?(?P<decimals>\d*)(?:[eE](?P<power>[+-]?\d+))?$")
    decimals = parts["decimals"].fillna("").str.len()
    zeros = parts["whole"].fillna("").str.extract(r"(0*)$")[0].str.len().where(decimals == 0, 0)
    power = pd.to_numeric(parts["power"]).fillna(0.0)
    number = pd.to_numeric(values["raw"], errors="coerce").abs()
    conversion = (values["value"].abs() / number).where(number > 0.0)
    last_place = (power - decimals + zeros).astype(float)
    # The files drop the zeros at the end of a decimal, so "0.02" may have been 0.020.
    return (conversion * 10.0**last_place).fillna(0.0).clip(upper=LARGEST_STEP * values["value"].abs())
