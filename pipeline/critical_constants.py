"""Critical temperature and pressure of everything that boils, and how they are known.

The first of these *ways* that gives plausible constants is taken:

`evaluated`      both are evaluated, at grade C or better;
`held`           both are evaluated, one of them at grade D;
`groups`         from the structure: K. G. Joback, R. C. Reid, Chem. Eng.
                 Commun. 57 (1987) 233-243 (module `group_counts`), T_c through
                 the evaluated boiling point;
`no carbon`      of what holds no carbon, from the normal boiling point alone:
                 C. M. Guldberg, Z. Phys. Chem. 5 (1890) 374-382, found T_b/T_c
                 near 2/3 for all liquids; p_c is `TYPICAL_P_C_PA`;
`boiling point`  the same for all others. Among them the ratio, and p_c with it,
                 drifts with the boiling point, so both T_c/T_b and p_c are taken
                 as powers of T_b, fitted robustly to those components of the
                 store whose constants are evaluated or held and that boil where
                 most do; outside that span of T_b they keep its end values.

Plausible are constants above the boiling point with which the method of
Ambrose and Walton (module `wagner`) boils there. Those held at grade D and
those from groups must also give a heat of vaporisation near the rule of
W. Kistiakowsky, Z. Phys. Chem. 107 (1923) 65-73,

    Δ_vap H(T_b) / (R T_b) = 36.6 J mol⁻¹ K⁻¹ / R + ln(T_b / K),

since among the former are some of other substances, and additive rules go astray
for large molecules. Of what is evaluated at grade C or better and boils above
150 K, 99 in 100 lie between 0.93 and 1.29 of it.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from rdkit import Chem
from scipy.optimize import least_squares

from cutpoint.schema.identifiers import split_formula
from cutpoint.schema.properties import ATMOSPHERE_PA, MOLAR_GAS_CONSTANT_J_MOL_K

from .curve_forms import ln_pressure_slopes
from .group_counts import count_groups, critical_pressure_Pa, critical_temperature_K
from .structure import silence
from .wagner import acentric_factor_from_boiling_point, estimated_curves

Array = NDArray[np.float64]

EVALUATED = "evaluated"
"""The way in which a critical point is a datum, not an estimate."""
WAYS = (EVALUATED, "held", "groups", "no carbon", "boiling point")

KISTIAKOWSKY_J_MOL_K = 36.61
COMPRESSIBILITY_OF_VAPOUR = 0.96
"""Of a saturated vapour at the normal boiling point (common practice, no source)."""
PLAUSIBLE_HEATS = (0.9, 1.4)
"""Heat of vaporisation at the boiling point over that of Kistiakowsky's rule."""
SPAN_OF_T_B_K = (200.0, 700.0)
"""Boiling points between which the powers of T_b are fitted."""
MIDDLE_T_B_K = 400.0
GULDBERG_RATIO = 1.5
TYPICAL_P_C_PA = 3.3e6
"""Median of the components whose critical pressure the store knows at grade C or better, boiling at 300 to 500 K."""
LEAST_FITTED = 50
"""With fewer components the ratio is Guldberg's and the pressure the typical one, whatever T_b."""
ROBUST_WIDTH = 0.05

_KNOWN = ("A", "B", "C")


def critical_constants(evaluations: pd.DataFrame, components: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """For each way the constants of every component that it can serve: T_c_K, p_c_Pa, omega, by CAS number.

    `omega` is the acentric factor with which the method of Ambrose and Walton
    boils at the evaluated normal boiling point. Only pure components with one
    are served, each by one of the last two ways at least. A component appears under every
    way that gives it plausible constants, so that the ways can be compared.
    """
    T_b_K = boiling_points(evaluations, components)["T_b_K"]
    held = _held(evaluations).reindex(T_b_K.index)
    known = held["grade_T"].isin(_KNOWN) & held["grade_p"].isin(_KNOWN)
    served = {
        EVALUATED: _boiling(T_b_K, held[known]),
        "held": _plausible(T_b_K, _boiling(T_b_K, held[~known])),
        "groups": _plausible(T_b_K, _boiling(T_b_K, _from_groups(T_b_K, components))),
    }
    tabled = pd.concat([served[EVALUATED], served["held"]])
    carbonless = _carbonless(T_b_K, components)
    served["no carbon"] = _boiling(T_b_K, _by_guldberg(T_b_K[carbonless]))
    served["boiling point"] = _boiling(T_b_K, _by_drifting_ratio(T_b_K[~carbonless], tabled))
    return served


def boiling_points(evaluations: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """Evaluated normal boiling points of the pure components: T_b_K, T_b_u95_K, by CAS number, sorted."""
    pure = components.loc[components["kind"] == "pure", "cas"]
    is_boiling = (evaluations["property"] == "normal_boiling_point") & evaluations["cas"].isin(pure)
    table = evaluations[is_boiling].set_index("cas").sort_index()
    return pd.DataFrame({"T_b_K": table["value"], "T_b_u95_K": table["u95"]})


def best(served: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The constants of each component by the first way that serves it, with the column `way`."""
    table = pd.concat([frame.assign(way=way) for way, frame in served.items()])
    return table[~table.index.duplicated()].sort_index()


def _held(evaluations: pd.DataFrame) -> pd.DataFrame:
    known = evaluations.set_index("cas")
    T_c = known[known["property"] == "critical_temperature"]
    p_c = known[known["property"] == "critical_pressure"]
    columns = {"T_c_K": T_c["value"], "grade_T": T_c["grade"], "p_c_Pa": p_c["value"], "grade_p": p_c["grade"]}
    return pd.DataFrame(columns)


def _boiling(T_b_K: pd.Series, constants: pd.DataFrame) -> pd.DataFrame:
    """The constants with which corresponding states boil at T_b_K, and the acentric factor that does it."""
    table = constants[["T_c_K", "p_c_Pa"]].dropna()
    table = table[(table["T_c_K"] > T_b_K.reindex(table.index)) & (table["p_c_Pa"] > ATMOSPHERE_PA)]
    own_T_b_K = T_b_K.reindex(table.index).to_numpy()
    omega = acentric_factor_from_boiling_point(own_T_b_K, table["T_c_K"].to_numpy(), table["p_c_Pa"].to_numpy())
    return table.assign(omega=omega).dropna()


def _plausible(T_b_K: pd.Series, constants: pd.DataFrame) -> pd.DataFrame:
    """The constants whose heat of vaporisation at the boiling point is near Kistiakowsky's."""
    own_T_b_K = T_b_K.reindex(constants.index).to_numpy()
    steepness = ln_pressure_slopes(estimated_curves(constants), own_T_b_K) * own_T_b_K
    rule = KISTIAKOWSKY_J_MOL_K / MOLAR_GAS_CONSTANT_J_MOL_K + np.log(own_T_b_K)
    ratio = steepness * COMPRESSIBILITY_OF_VAPOUR / rule
    return constants[(ratio >= PLAUSIBLE_HEATS[0]) & (ratio <= PLAUSIBLE_HEATS[1])]


def _from_groups(T_b_K: pd.Series, components: pd.DataFrame) -> pd.DataFrame:
    silence()
    smiles = components.set_index("cas")["smiles"].reindex(T_b_K.index).dropna()
    rows = {}
    for cas, text, T_b in zip(smiles.index, smiles, T_b_K.reindex(smiles.index), strict=True):
        molecule = Chem.MolFromSmiles(text)
        counts = None if molecule is None else count_groups(molecule)
        if counts is not None:
            n_atoms = molecule.GetNumAtoms(onlyExplicit=False)
            rows[cas] = (critical_temperature_K(counts, T_b), critical_pressure_Pa(counts, n_atoms))
    return pd.DataFrame.from_dict(rows, orient="index", columns=["T_c_K", "p_c_Pa"], dtype=np.float64)


def _carbonless(T_b_K: pd.Series, components: pd.DataFrame) -> pd.Series:
    """Which components are known to hold no carbon."""
    formulas = components.set_index("cas")["formula"].reindex(T_b_K.index)
    told = [isinstance(formula, str) and "C" not in split_formula(formula)[0] for formula in formulas]
    return pd.Series(told, index=T_b_K.index, dtype=bool)


def _by_guldberg(T_b_K: pd.Series) -> pd.DataFrame:
    return pd.DataFrame({"T_c_K": GULDBERG_RATIO * T_b_K, "p_c_Pa": TYPICAL_P_C_PA})


def _by_drifting_ratio(T_b_K: pd.Series, tabled: pd.DataFrame) -> pd.DataFrame:
    tabled = tabled[tabled.index.isin(T_b_K.index)]
    learned = tabled[T_b_K.reindex(tabled.index).between(*SPAN_OF_T_B_K)]
    x = np.log(T_b_K.clip(*SPAN_OF_T_B_K) / MIDDLE_T_B_K)
    known = x.reindex(learned.index).to_numpy()
    own_T_b_K = T_b_K.reindex(learned.index).to_numpy()
    ln_ratio = _line(known, np.log(learned["T_c_K"].to_numpy() / own_T_b_K), np.log(GULDBERG_RATIO))
    ln_p_c = _line(known, np.log(learned["p_c_Pa"].to_numpy()), np.log(TYPICAL_P_C_PA))
    return pd.DataFrame(
        {
            "T_c_K": T_b_K * np.exp(ln_ratio[0] + ln_ratio[1] * x),
            "p_c_Pa": np.exp(ln_p_c[0] + ln_p_c[1] * x),
        }
    )


def _line(x: Array, y: Array, otherwise: float) -> Array:
    """Intercept and slope of a robust line; the constant `otherwise` where there is too little to learn from."""
    if len(x) < LEAST_FITTED:
        return np.array([otherwise, 0.0])
    start = np.array([np.median(y), 0.0])
    found = least_squares(lambda line: line[0] + line[1] * x - y, start, loss="soft_l1", f_scale=ROBUST_WIDTH)
    return np.asarray(found.x, dtype=np.float64)
