"""The separation sheets made by hand, for all tests of what is made of them."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from cutpoint.planner.stills.results import Plan

MADE_BY_HAND = Path(__file__).with_name("plans.py")
NAMES = ("ordinary", "liquefied", "not to be had", "crowded", "sparse")


@pytest.fixture(scope="session")
def plans() -> dict[str, Plan]:
    """Every sheet by its name."""
    # Test folders are no packages, so the module is loaded from where it stands.
    specification = spec_from_file_location("plans", MADE_BY_HAND)
    assert specification is not None and specification.loader is not None
    module = module_from_spec(specification)
    specification.loader.exec_module(module)
    made: dict[str, Plan] = module.PLANS
    assert tuple(made) == NAMES
    return made


@pytest.fixture(params=NAMES)
def plan(request: pytest.FixtureRequest, plans: dict[str, Plan]) -> Plan:
    """Each sheet in turn."""
    return plans[request.param]
