"""The property vocabulary: what each number is, in which unit, and how far it may be believed.

Symbols follow the IUPAC Green Book (Cohen et al., Quantities, Units and
Symbols in Physical Chemistry, 3rd edition, RSC 2007); quantities that it does
not list (flash point and the like) have no symbol. Plausible ranges are wide
on purpose: they catch a wrong unit, not a poor measurement.
"""

from __future__ import annotations

from dataclasses import dataclass

ATMOSPHERE_PA = 101_325.0
"""Standard atmosphere, Pa; the pressure of a *normal* boiling point."""

ICE_POINT_K = 273.15
"""Zero of the Celsius scale, K."""

MOLAR_GAS_CONSTANT_J_MOL_K = 8.314462618
"""Molar gas constant, J/(mol K); CODATA 2018, exact by the SI of 2019 to the digits given."""


@dataclass(frozen=True)
class Property:
    """One entry of the vocabulary.

    `grade_limits` are the largest expanded uncertainties (95 %) of grades A, B
    and C: in the property's unit, or as a fraction of the value if `relative`.
    """

    name: str
    symbol: str | None
    unit: str
    plausible: tuple[float, float]
    grade_limits: tuple[float, float, float]
    relative: bool
    sentence: str
    hazard: bool = False


_KELVIN_LIMITS = (0.5, 2.0, 10.0)

PROPERTIES: dict[str, Property] = {
    entry.name: entry
    for entry in (
        Property("normal_boiling_point", "T_b", "K", (3.0, 6500.0), _KELVIN_LIMITS, False,
                 "Temperature at which the liquid's vapour pressure is 101 325 Pa."),
        Property("melting_point", "T_fus", "K", (1.0, 4500.0), _KELVIN_LIMITS, False,
                 "Temperature at which solid and liquid are in equilibrium near atmospheric pressure."),
        Property("critical_temperature", "T_c", "K", (3.0, 15000.0), _KELVIN_LIMITS, False,
                 "Temperature above which no liquid can be told from the vapour."),
        Property("critical_pressure", "p_c", "Pa", (1e5, 3e8), (0.005, 0.02, 0.10), True,
                 "Vapour pressure at the critical temperature."),
        Property("critical_volume", "V_m,c", "m3_mol", (2e-5, 1e-2), (0.01, 0.03, 0.10), True,
                 "Molar volume at the critical point."),
        Property("acentric_factor", "omega", "1", (-1.0, 3.5), (0.005, 0.02, 0.10), False,
                 "-log10(p/p_c) - 1 of the vapour pressure p at 0.7 of the critical temperature."),
        Property("enthalpy_of_vaporization", "Δ_vap H", "J_mol", (50.0, 1.2e6), (0.005, 0.02, 0.10), True,
                 "Molar enthalpy of vaporisation at 298.15 K."),
        Property("enthalpy_of_vaporization_at_boiling_point", "Δ_vap H(T_b)", "J_mol", (50.0, 1.2e6),
                 (0.005, 0.02, 0.10), True,
                 "Molar enthalpy of vaporisation at the normal boiling point."),
        Property("liquid_density", "rho", "kg_m3", (50.0, 25000.0), (0.001, 0.005, 0.03), True,
                 "Mass density of the liquid at 293.15 K, at atmospheric or saturation pressure."),
        Property("liquid_molar_volume", "V_m", "m3_mol", (5e-6, 1e-2), (0.001, 0.005, 0.03), True,
                 "Molar volume of the liquid; evaluated as a density."),
        Property("vapour_pressure", "p*", "Pa", (1e-12, 3e8), (0.005, 0.02, 0.10), True,
                 "Pressure of the vapour in equilibrium with the pure liquid, as a function of temperature."),
        Property("sublimation_pressure", "p_sub", "Pa", (1e-12, 3e8), (0.005, 0.02, 0.10), True,
                 "Pressure of the vapour in equilibrium with the pure solid, as a function of temperature."),
        Property("flash_point", None, "K", (70.0, 800.0), (2.0, 5.0, 15.0), False,
                 "Lowest temperature at which the vapour over the liquid can be lit in air, by a closed-cup test.",
                 hazard=True),
        Property("autoignition_temperature", None, "K", (250.0, 1200.0), (5.0, 15.0, 50.0), False,
                 "Lowest surface temperature at which the vapour lights in air without a flame.", hazard=True),
        Property("lower_flammability_limit", None, "1", (1e-4, 0.8), (0.03, 0.10, 0.30), True,
                 "Least mole fraction of vapour in air that carries a flame.", hazard=True),
        Property("upper_flammability_limit", None, "1", (5e-3, 1.0), (0.03, 0.10, 0.30), True,
                 "Greatest mole fraction of vapour in air that carries a flame.", hazard=True),
        Property("exposure_limit", None, "kg_m3", (1e-13, 0.1), (0.03, 0.10, 0.30), True,
                 "Airborne concentration that a worker may breathe, averaged as the limit says.", hazard=True),
        Property("peroxide_former", None, "class", (0.0, 0.0), (0.0, 0.0, 0.0), False,
                 "Class of substances that form explosive peroxides on storage, on concentration, or by polymerising.",
                 hazard=True),
    )
}  # fmt: skip

HAZARD_PROPERTIES = tuple(name for name, entry in PROPERTIES.items() if entry.hazard)

_UNEVALUATED = ("liquid_molar_volume", "vapour_pressure", "sublimation_pressure", "exposure_limit", "peroxide_former")

EVALUATED_PROPERTIES = tuple(name for name in PROPERTIES if name not in _UNEVALUATED)
"""Properties that get one evaluated value per component; pressures get a curve, the rest stay as limits."""

STANDARD_TEMPERATURE_K = 298.15
"""Temperature of standard enthalpies of vaporisation, K."""

MOLAR_VOLUME_OF_AIR_M3_MOL = MOLAR_GAS_CONSTANT_J_MOL_K * STANDARD_TEMPERATURE_K / ATMOSPHERE_PA
"""Molar volume of air, as an ideal gas, at 298.15 K and 101 325 Pa: limits in air are stated for it, m3/mol."""

DENSITY_TEMPERATURE_K = 293.15
"""Temperature of evaluated liquid densities, K: the bench's 20 °C."""


def grade(name: str, value: float, u95: float, n_sources: int) -> str:
    """Grade of an evaluated value: A, B, C or D.

    A statement about uncertainty: A needs three independent sources, and a
    single unverified source is never better than D.
    """
    entry = PROPERTIES[name]
    spread = u95 / abs(value) if entry.relative and value else u95
    limit_a, limit_b, limit_c = entry.grade_limits
    if n_sources < 2 or not spread <= limit_c:
        return "D"
    if spread <= limit_a and n_sources >= 3:
        return "A"
    return "B" if spread <= limit_b else "C"
