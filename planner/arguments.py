"""Arguments and options that several commands share, and what they mean."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cutpoint.schema.errors import WrongUsage
from cutpoint.schema.properties import ATMOSPHERE_PA

from . import units
from .face import Command, json_option, store_option

# The query module is imported when a store is opened: `--help` and each press of TAB would otherwise wait for it.
if TYPE_CHECKING:
    from collections.abc import Callable

    from cutpoint.db import Store


def text(context: click.Context, parameter: click.Parameter, value: str) -> str:
    """Refuse an argument that is empty or no UTF-8: neither can name anything."""
    if not value.strip():
        raise click.BadParameter("it is empty.", context, parameter)
    if any("\ud800" <= letter <= "\udfff" for letter in value):
        raise click.BadParameter("it is not valid UTF-8.", context, parameter)
    return value


def component_argument(command: Command) -> Command:
    """Give a command the argument `COMPONENT`."""
    return click.argument("component", callback=text)(command)


def asks(command: Command) -> Command:
    """Options of every command that asks the store."""
    return store_option(json_option(command))


def at_pressure(command: Command) -> Command:
    """Options of every command that asks at a pressure; `pressure_asked_Pa` reads them."""
    at = click.option("--at", metavar="PRESSURE", help='Pressure, such as "84 kPa".  [default: 1 atm]')
    altitude = click.option("--altitude", metavar="ALTITUDE", help="Altitude instead, such as 1600m (ISO 2533:1975).")
    return at(altitude(command))


def plot_option(told: str) -> Callable[[Command], Command]:
    """Give a command the option `--plot FILE.svg`, its help telling what is drawn."""

    def given(command: Command) -> Command:
        path = click.Path(path_type=Path)
        return click.option("--plot", type=path, metavar="FILE.svg", callback=_svg, help=told)(command)

    return given


def _svg(context: click.Context, parameter: click.Parameter, path: Path | None) -> Path | None:
    """Refuse a file that is not to be an SVG, before anything is asked."""
    if path is not None and path.suffix.lower() != ".svg":
        raise WrongUsage(f"The picture is drawn as SVG: name a file that ends in .svg, not {path.name!r}.")
    return path


def open_store(path: Path | None) -> Store:
    """The store of `--store`, else the default one."""
    from cutpoint import db

    return db.open(path)


def pressure_asked_Pa(at: str | None, altitude: str | None) -> float:
    """The pressure asked for: given, or that of the standard atmosphere at an altitude, or 1 atm."""
    if at is not None and altitude is not None:
        raise WrongUsage("A pressure and an altitude exclude each other: give --at or --altitude.")
    if altitude is not None:
        return units.standard_atmosphere_pressure_Pa(units.altitude_m(altitude))
    return ATMOSPHERE_PA if at is None else units.pressure_Pa(at)
