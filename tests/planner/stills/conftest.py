"""Liquids and properties made up for checks by hand."""

from dataclasses import dataclass

import numpy as np
import pytest

from cutpoint.planner.stills.properties import Properties
from cutpoint.schema.properties import ATMOSPHERE_PA, MOLAR_GAS_CONSTANT_J_MOL_K


@dataclass
class MadeUpLiquid:
    """Vapour pressures by Clausius and Clapeyron; ln γ_i = A (1 - x_i)² of Margules, right for two species alone."""

    boiling_K: np.ndarray
    A: float = 0.0
    enthalpy_J_mol: float = 30_000.0

    def ln_p(self, T_K):
        per_R = self.enthalpy_J_mol / MOLAR_GAS_CONSTANT_J_MOL_K
        return np.log(ATMOSPHERE_PA) + per_R * (1.0 / np.asarray(self.boiling_K) - 1.0 / T_K[:, None])

    def ln_gamma(self, x, T_K):
        return self.A * (1.0 - x) ** 2


def properties_of(count, **arrays):
    usual = {
        "molar_mass_kg_mol": 0.1,
        "density_kg_m3": 800.0,
        "density_u95_kg_m3": 8.0,
        "enthalpy_of_vaporization_J_mol": 30_000.0,
        "heat_capacity_J_kg_K": 2_000.0,
        "critical_temperature_K": 600.0,
    }
    given = {name: np.array(np.broadcast_to(arrays.get(name, value), count)) for name, value in usual.items()}
    names = tuple(f"species {k}" for k in range(count))
    return Properties(names=names, cas=names, remarks=(), **given)


@pytest.fixture(scope="session")
def made_up_liquid():
    """Makes an ideal liquid, or one of Margules, from boiling points."""
    return MadeUpLiquid


@pytest.fixture(scope="session")
def made_up_properties():
    """Makes the properties of so many species; what is not given is of a usual size."""
    return properties_of
