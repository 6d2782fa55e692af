"""One module per open table; a new source is one new file here that defines `SOURCE`."""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module

from ..source import Source


@cache
def all_sources() -> tuple[Source, ...]:
    """Every source of the modules in this folder, sorted by name; names are unique."""
    modules = [import_module(f"{__name__}.{found.name}") for found in pkgutil.iter_modules(__path__)]
    sources = sorted((module.SOURCE for module in modules if hasattr(module, "SOURCE")), key=lambda source: source.name)
    names = [source.name for source in sources]
    if len(set(names)) != len(names):
        raise ValueError(f"two source modules share a name: {names}")
    return tuple(sources)
