"""Every table and key that a recipe may hold: what it is, how it is read, what stands in for it.

The same declaration checks recipes and makes the reference for people.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cutpoint.planner import units

from .values import Kind, choice, count, long_text, number, quantity, text

TOP = ""
"""Name under which the keys before the first table stand."""

MEANINGS = "meanings"
"""The one table whose keys are the user's own: names as they are printed."""

DEFAULT_HEAT_SHARE = 0.6
"""Share of the power of a heating mantle that reaches the liquid: common practice, no source."""

DEFAULT_REFLUX_RATIO = 3.0
"""Reflux ratio of a column for which none is given: common practice, no source."""

MOST_PLATES = 100

NEEDED = "needed"
ONE_OF = "one of these"


@dataclass(frozen=True)
class Key:
    """A key of a table: its example is as TOML writes it, `otherwise` tells what holds where it is left out."""

    table: str
    name: str
    kind: Kind
    example: str
    what: str
    otherwise: str

    @property
    def line(self) -> str:
        """The example as a line of a recipe."""
        return f"{self.name} = {self.example}"

    @property
    def example_told(self) -> str:
        """How messages show what may be written."""
        return f"For example: {self.line}"


@dataclass(frozen=True)
class Table:
    """A table of the recipe; one that is not needed may be left out as a whole."""

    name: str
    what: str
    needed: bool


def place(table: str, key: str = "") -> str:
    """How messages name a table or a key: `[column]`, `[column] height`, or `title` at the top."""
    return f"[{table}] {key}".strip() if table else key


_NAME = text(200)
_PURITY = quantity("fraction", units.fraction)
_SHARE = quantity("fraction", units.share)
_TEMPERATURE = quantity("temperature", units.temperature_K)
_PRESSURE = quantity("pressure", units.pressure_Pa)
_PRICE = number(0, 1e6)
_SIZE = quantity("mass or volume", units.mass_kg_or_volume_m3, "g, kg, mL or L")

TABLES = (
    Table(TOP, "The product and its label; these keys stand before the first table.", True),
    Table(
        MEANINGS,
        'What names on the label mean that speak for nothing else: "printed name" = a CAS number, a name, '
        'or "not volatile" for what stays in the flask.',
        False,
    ),
    Table("feed", "How much there is to distil, and what it cost.", True),
    Table("target", "What is wanted.", True),
    Table("place", "The pressure under which it is distilled: the air's, unless a pump holds a lower one.", False),
    Table("column", "What stands on the flask.", True),
    Table("heat", "The heater.", False),
    Table("cooling", "Condenser and receiver.", False),
    Table("package", "For liquefied gases only: the pressurised package.", False),
    Table("thermometer", "The thermometer in the still head.", False),
)

KEYS = (
    Key(TOP, "title", _NAME, '"Used eluent"', "heading of the sheet", "the name of the target"),
    Key(TOP, "label", long_text(), '"""\\nhexane 60-70 %\\n"""', "the ingredient list as it is printed", ONE_OF),
    Key(TOP, "label_file", _NAME, '"label.txt"', "file with the ingredient list, beside the recipe", ONE_OF),
    Key("feed", "basis", choice("mass", "volume"), '"mass"', "what the percentages of the label are of", "mass"),
    Key("feed", "mass", quantity("mass", units.mass_kg), '"1.5 kg"', "how much there is", ONE_OF),
    Key("feed", "volume", quantity("volume", units.volume_m3), '"2 L"', "how much there is", ONE_OF),
    Key("feed", "packages", count(1, 10_000), "4", "number of packages, with their size", ONE_OF),
    Key("feed", "size", _SIZE, '"500 mL"', "content of one package", "needed with packages"),
    Key("feed", "price", _PRICE, "3.20", "price of one package, without packages of all", "no cost"),
    Key("feed", "currency", text(12), '"EUR"', "in what all prices are", "not named"),
    Key("target", "ingredient", _NAME, '"ethyl acetate"', "the ingredient that is wanted", NEEDED),
    Key("target", "purity", _PURITY, '"95 %"', "its share by mass in the product", NEEDED),
    Key("place", "pressure", _PRESSURE, '"84 kPa"', "absolute pressure, from a barometer", "1 atm"),
    Key(
        "place",
        "altitude",
        quantity("length", units.altitude_m),
        '"1600 m"',
        "altitude instead of a pressure (ISO 2533:1975)",
        "1 atm",
    ),
    Key("column", "kind", _NAME, '"Vigreux"', "kind of column", ONE_OF),
    Key("column", "height", quantity("length", units.length_m), '"30 cm"', "packed or indented height", "with a kind"),
    Key("column", "plates", count(0, MOST_PLATES), "5", "theoretical plates instead, the pot not counted", ONE_OF),
    Key(
        "column",
        "holdup",
        quantity("volume", units.holdup_m3),
        '"5 mL"',
        "liquid in the whole column at work",
        "by kind and plates, 1 mL a plate without a kind",
    ),
    Key(
        "column",
        "reflux_ratio",
        number(0, 1000),
        "3",
        "what flows back for each part that is taken off",
        f"{DEFAULT_REFLUX_RATIO:g}, or 0 without plates",
    ),
    Key(
        "column",
        "take_off",
        quantity("flow", units.flow_m3_s),
        '"2 mL/min"',
        "rate of distillate instead of a reflux ratio; needs the power of [heat]",
        "the reflux ratio",
    ),
    Key("heat", "power", quantity("power", units.power_W), '"150 W"', "power of the heater as it is set", "no times"),
    Key(
        "heat",
        "share",
        _SHARE,
        '"60 %"',
        "share of the power that reaches the liquid",
        f"{100 * DEFAULT_HEAT_SHARE:.0f} %",
    ),
    Key("heat", "price_per_kWh", _PRICE, "0.30", "price of a kilowatt-hour", "not counted"),
    Key("cooling", "coolant", _TEMPERATURE, '"10 degC"', "temperature of the water in the condenser", "not judged"),
    Key("cooling", "receiver_bath", _TEMPERATURE, '"0 degC"', "temperature of the bath of the receiver", "not judged"),
    Key("cooling", "price_per_kg_ice", _PRICE, "0.80", "price of a kilogram of ice", "not counted"),
    Key("package", "temperature", _TEMPERATURE, '"20 degC"', "temperature of the package", NEEDED),
    Key("package", "pressure", _PRESSURE, '"450 kPa"', "absolute pressure that was read in it", "not compared"),
    Key(
        "thermometer",
        "correction",
        quantity("temperature difference", units.temperature_correction_K),
        '"+0.5 K"',
        "what is added to a reading to have the true temperature",
        "0 K",
    ),
)


def keys_of(table: str) -> Iterator[Key]:
    """The keys of a table, in the order of the reference."""
    return (key for key in KEYS if key.table == table)


def key(table: str, name: str) -> Key:
    """The declaration of a key that there is."""
    return next(key for key in keys_of(table) if key.name == name)
