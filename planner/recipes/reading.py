"""Recipes are read from TOML files, held against their declaration, and told in SI units."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from cutpoint.planner import units
from cutpoint.schema.errors import CutpointError, WrongRecipe, WrongUsage
from cutpoint.schema.properties import ATMOSPHERE_PA

from ..labels.reading import decode
from .checking import Checked, check
from .columns import HOLDUP_PER_PLATE_M3, ColumnKind, kind_named
from .keys import DEFAULT_HEAT_SHARE, DEFAULT_REFLUX_RATIO, MOST_PLATES, TOP, key
from .places import places
from .recipe import Amount, Column, Package, Recipe

MOST_BYTES = 1_000_000

MOST_FEED_KG = 1000.0
MOST_FEED_M3 = 1.0
"""No feed of the bench is larger: "500 ML" are millions of litres, and meant was less."""

MOST_PRESSURE_PA = 120_000.0
"""More than the air's pressure anywhere on land; glass is not distilled from under pressure."""

MOST_HEIGHT_M = 3.0

MOST_CORRECTION_K = 50.0
"""A thermometer that is further off is broken."""

_TOML_PLACE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column \d+|end of document)\)$")


def read_recipe(path: Path) -> Recipe:
    """Read a recipe file. Raises WrongRecipe if it cannot be read or has faults, all of them in one message."""
    return parse_recipe(_content(path, path.name, "recipe"), path.name, path.parent)


def parse_recipe(content: bytes, name: str, folder: Path | None = None) -> Recipe:
    """Read a recipe from the bytes of a TOML file, in UTF-8 or Windows-1252.

    `name` is what messages call it; files that it names are looked for in
    `folder`. Raises WrongRecipe with all faults, one per line.
    """
    text = _text(content, name)
    checked = check(_document(text, name), name, places(text))
    label, label_file, label_line = _label(checked, folder)
    amount = _amount(checked)
    column = _column(checked)
    pressure_Pa = _pressure_Pa(checked)
    reflux_ratio = _reflux_ratio(checked, column)
    _check_limits(checked, amount, column)
    checked.raise_faults()
    value = checked.value
    return Recipe(
        title=" ".join(value(TOP, "title", value("target", "ingredient")).split()),
        label=label,
        label_file=label_file,
        label_line=label_line,
        basis=value("feed", "basis", "mass"),
        amount=amount,
        meanings=checked.meanings,
        target=value("target", "ingredient"),
        purity=value("target", "purity"),
        pressure_Pa=pressure_Pa,
        altitude_m=value("place", "altitude"),
        column=column,
        reflux_ratio=reflux_ratio,
        take_off_m3_s=value("column", "take_off"),
        heat_W=value("heat", "power"),
        heat_share=value("heat", "share", DEFAULT_HEAT_SHARE),
        coolant_K=value("cooling", "coolant"),
        receiver_bath_K=value("cooling", "receiver_bath"),
        package=_package(checked),
        thermometer_correction_K=value("thermometer", "correction", 0.0),
        price_per_kWh=value("heat", "price_per_kWh"),
        price_per_kg_ice=value("cooling", "price_per_kg_ice"),
    )


def _text(content: bytes, name: str) -> str:
    """Text of a file, line ends as on Unix; raises WrongRecipe for what is no text."""
    text = decode(content)
    if "\0" in text:
        raise WrongRecipe(f"{name} is no text: it holds zero bytes. Save it as a text file in UTF-8.")
    return text.replace("\r\n", "\n")


def _content(path: Path, name: str, what: str) -> bytes:
    """The bytes of a file; no more is read of one that never ends."""
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except IsADirectoryError as error:
        raise WrongRecipe(f"The {what} {str(path)!r} is a folder: name the file in it.") from error
    except FileNotFoundError as error:
        raise WrongRecipe(f"There is no {what} {str(path)!r}.") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise WrongRecipe(f"The {what} {str(path)!r} cannot be read: {why}.") from error
    if len(content) > MOST_BYTES:
        raise WrongRecipe(f"The {what} {name} is longer than {MOST_BYTES // 1_000_000} MB: is it the right file?")
    return content


def _document(text: str, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = _TOML_PLACE.search(str(error))
        line = found["line"] if found else None
        at = f", line {line}" if line else ", at its end" if found else ""
        why = _TOML_PLACE.sub("", str(error))
        raise WrongRecipe(
            f'{name}{at}: this is no TOML: {why}. Text and quantities stand in quotation marks: height = "30 cm".'
        ) from error
    except ValueError as error:
        raise WrongRecipe(f"{name} holds a number or date that nothing can have: {error}.") from error
    except RecursionError as error:
        raise WrongRecipe(f"{name} holds brackets in brackets far too deep: a recipe needs none.") from error


def _only_one(checked: Checked, table: str, *names: str, needed: bool = True) -> None:
    """Note a fault where several of some keys are given, or none and one is needed."""
    given = [name for name in names if checked.given(table, name)]
    if len(given) > 1:
        checked.refuse(table, given[-1], f"{' and '.join(given)} exclude each other: give one.")
    elif not given and needed and table in checked.tables:
        examples = " or ".join(key(table, name).line for name in names)
        checked.refuse(table, names[0], f"one of {', '.join(names)} is missing. For example: {examples}")


def _label(checked: Checked, folder: Path | None) -> tuple[str, str, int]:
    """Text of the label, the file in which it stands, and the line on which it begins."""
    _only_one(checked, TOP, "label", "label_file")
    label = checked.value(TOP, "label")
    if label is not None:
        place = checked.places.get(("label",))
        return label, checked.file, place.value_line if place else 1
    file = checked.value(TOP, "label_file")
    if file is None:
        return "", checked.file, 1
    try:
        if folder is None:
            raise WrongUsage("A recipe that is no file itself names none: give the label in it.")
        label = _text(_content(folder / file, file, "label"), file)
        if not label.strip():
            raise WrongUsage(f"The label {file!r} is empty.")
    except CutpointError as error:
        checked.refuse(TOP, "label_file", error.message)
    return label or "", file, 1


def _amount(checked: Checked) -> Amount:
    value = checked.value
    _only_one(checked, "feed", "mass", "volume", "packages")
    packages = value("feed", "packages", 1)
    mass_kg, volume_m3 = value("feed", "mass"), value("feed", "volume")
    if checked.given("feed", "packages"):
        mass_kg, volume_m3 = value("feed", "size", (None, None))
        if not checked.given("feed", "size"):
            checked.refuse("feed", "packages", f"their size is missing. {key('feed', 'size').example_told}")
    elif checked.given("feed", "size"):
        checked.refuse("feed", "size", f"how many packages are there? {key('feed', 'packages').example_told}")
    price = value("feed", "price")
    return Amount(
        mass_kg=None if mass_kg is None else packages * mass_kg,
        volume_m3=None if volume_m3 is None else packages * volume_m3,
        price=None if price is None else packages * price,
        currency=value("feed", "currency", ""),
    )


def _pressure_Pa(checked: Checked) -> float:
    _only_one(checked, "place", "pressure", "altitude", needed=False)
    altitude_m = checked.value("place", "altitude")
    if altitude_m is None:
        return checked.value("place", "pressure", ATMOSPHERE_PA)
    try:
        return units.standard_atmosphere_pressure_Pa(altitude_m)
    except CutpointError as error:
        checked.refuse("place", "altitude", error.message)
        return ATMOSPHERE_PA


def _column(checked: Checked) -> Column:
    _only_one(checked, "column", "kind", "plates")
    kind, height_m = _kind(checked), checked.value("column", "height")
    if kind is None:
        plates = checked.value("column", "plates", 0)
        holdup_m3 = plates * HOLDUP_PER_PLATE_M3
        if checked.given("column", "height") and not checked.given("column", "kind"):
            checked.refuse("column", "height", "plates are told by number: leave the height out.")
    else:
        plates = _plates(checked, kind)
        holdup_m3 = plates * kind.holdup_per_plate_m3
    return Column(
        plates=plates,
        kind=None if kind is None else kind.name,
        height_m=None if kind is None else height_m,
        holdup_m3=checked.value("column", "holdup", holdup_m3),
    )


def _kind(checked: Checked) -> ColumnKind | None:
    name = checked.value("column", "kind")
    if name is None:
        return None
    try:
        return kind_named(name)
    except CutpointError as error:
        checked.refuse("column", "kind", error.message)
        return None


def _plates(checked: Checked, kind: ColumnKind) -> int:
    """Theoretical plates of a column by its kind and height; 0 if the height is at fault."""
    if not checked.given("column", "height"):
        if kind.hetp_m is not None:
            checked.refuse("column", "height", f"it is missing. {key('column', 'height').example_told}")
        return 0
    if kind.hetp_m is None:
        checked.refuse("column", "height", f"a {kind.name} has no plates, whatever its height: leave it out.")
    height_m = checked.value("column", "height", 0.0)
    if height_m > MOST_HEIGHT_M:
        checked.refuse("column", "height", f"no bench has more than {MOST_HEIGHT_M:g} m: is the unit right?")
        return 0
    plates = kind.plates(height_m)
    if plates > MOST_PLATES:
        checked.refuse("column", "height", f"it makes {plates} plates of a {kind.name}; {MOST_PLATES} is the most.")
    return plates


def _reflux_ratio(checked: Checked, column: Column) -> float | None:
    """The reflux ratio, or None where a take-off is given; faults of either."""
    _only_one(checked, "column", "reflux_ratio", "take_off", needed=False)
    if checked.given("column", "take_off"):
        if not checked.given("heat", "power"):
            why = f"it tells the reflux ratio only together with [heat] power. {key('heat', 'power').example_told}"
            checked.refuse("column", "take_off", why)
        return None
    return checked.value("column", "reflux_ratio", DEFAULT_REFLUX_RATIO if column.plates else 0.0)


def _check_limits(checked: Checked, amount: Amount, column: Column) -> None:
    """What no kind of value forbids, but the bench does."""
    value = checked.value
    if (amount.mass_kg or 0.0) > MOST_FEED_KG or (amount.volume_m3 or 0.0) > MOST_FEED_M3:
        name = next(name for name in ("packages", "mass", "volume") if checked.given("feed", name))
        checked.refuse("feed", name, "that is more than 1000 kg or 1000 L, and no batch of a bench: is the unit right?")
    if amount.volume_m3 is not None and column.holdup_m3 >= amount.volume_m3:
        name = "holdup" if checked.given("column", "holdup") else "kind" if column.kind else "plates"
        why = f"the column holds {1e6 * column.holdup_m3:.4g} mL, all that there is to distil."
        checked.refuse("column", name, why)
    if value("place", "pressure", 0.0) > MOST_PRESSURE_PA:
        why = "the air presses less anywhere on land, and glass is not heated under pressure: is the unit right?"
        checked.refuse("place", "pressure", why)
    if abs(value("thermometer", "correction", 0.0)) > MOST_CORRECTION_K:
        checked.refuse("thermometer", "correction", f"a thermometer more than {MOST_CORRECTION_K:.0f} K off is broken.")


def _package(checked: Checked) -> Package | None:
    if "package" not in checked.tables:
        return None
    return Package(checked.value("package", "temperature"), checked.value("package", "pressure"))
