"""What a component does on heating at one atmosphere, and which of melting and boiling point gives way in a clash.

**Sublimes**: a hand table says so; or the pressure over the solid, from a
correlation, reaches one atmosphere below the melting point, inside its range or
no more than a hundredth beyond it; or extrapolated further it does so at the
printed boiling point. A boiling point below the melting point alone shows
nothing: more often one of the two is wrong.

**Decomposes**: a hand table says so; or the structure is of a kind that does
(`KINDS`), and the boiling point is one house's, without a correlation.

**A clash.** No liquid is there to boil below the melting point. Of substances
whose melting and boiling point three houses tell, 1 in 100 has a melting point
above 0.94 of the boiling point, and of the organic ones none above
1 - `NARROWEST`. So where a table prints one figure, or nearly, as both, or a
melting point above the boiling point, one of them is wrong:

- the melting point, if one house tells it and two or the structure stand
  behind the boiling point: mostly that was printed in the wrong column;
- else the boiling point.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from rdkit import Chem

from cutpoint.schema.equations import temperature_at
from cutpoint.schema.properties import ATMOSPHERE_PA

from .consensus import BOILING
from .disputes import MELTING
from .hand_tables import OnHeating
from .structure import silence
from .witnesses import stacked

NARROWEST = 0.012
"""Least relative distance of a boiling point from the melting point below it."""

MELTING_MARGIN_K = 2.0
LITTLE_BEYOND = 1.01
FAR_BEYOND = 1.2
SAME_TEMPERATURE_K = 2.0

SURE_U95_K = 60.0
"""An estimate that is less sure confirms a boiling point only within half of its uncertainty."""
VERY_SURE_U95_K = 20.0

CONTRADICTED = 1.5
"""An estimate higher than a boiling point by more than so many times its uncertainty contradicts that."""
NEARER_TO_BOILING = 1.125
"""Of a figure printed as both: a substance that melts there boils at 1.25 times that temperature or higher (96 in 100
that two houses know), so an estimate below this multiple speaks for a boiling point."""

SUBLIMES_LABEL, DECOMPOSES_LABEL = "sublimes", "decomposes"

DECOMPOSES = "decomposes before it boils at 101 325 Pa"
SUBLIMES = "boils nowhere at 101 325 Pa: sublimes"
BELOW_MELTING = "boils below its melting point: sublimes, or a boiling point at reduced pressure"
AT_MELTING = "boils at its melting point: the melting point printed as a boiling point"
BOILING_IN_PLACE = "the boiling point printed in its place"
MELTS_ABOVE_BOILING = "melting point above a boiling point that is better supported"

KINDS = {
    "a peroxy acid or its ester": ("C(=O)[OX2][OX2]", 1),
    "an amino acid": ("[NX3;H2,H1;!$(N[C,S]=[O,S]);!$(N~[!#6;!#1])][CX4][CX3](=O)[OX2H1,OX1-]", 1),
    "a trinitroarene": ("c[$([NX3](~[OX1])~[OX1])]", 3),
    "an alkali salt of an organic ion": ("[Na+,K+,Rb+,Cs+]", 1),
    "a quaternary salt": (
        "[N+,n+,P+;X4,X3;!$([*]~[-]);!$([*]=[O]);!$([*]#*);!$(*=[N+])]([#6])([#6])[#6]", 1
    ),
    "a diazonium salt": ("c[N+]#N", 1),
}  # fmt: skip
"""Kinds that decompose below the temperature at which they might boil at one atmosphere (common knowledge of the
trade, no source): what each is called, its SMARTS pattern, and how often that must occur."""

_MAY_BE_ONE = r"OO|N|\[N\+\]|\[n\+\]|\[P\+\]|\[(?:Na|K|Rb|Cs)\+\]"
_ORGANIC = Chem.MolFromSmarts("[$([#6;!H0]),$([#6]~[#6])]")


def behaviours(
    components: pd.DataFrame,
    observations: pd.DataFrame,
    agreed: pd.DataFrame,
    values: pd.DataFrame,
    stated: Mapping[str, OnHeating],
) -> pd.DataFrame:
    """What sublimes or decomposes: `label` and `reason` (for a printed boiling point), indexed by CAS number."""
    kinds = _kinds(components, agreed)
    found = {cas: (DECOMPOSES_LABEL, f"{DECOMPOSES}: {kind}") for cas, kind in kinds.items()}
    found |= dict.fromkeys(_sublimers(observations, values), (SUBLIMES_LABEL, SUBLIMES))
    for cas, told in stated.items():
        text = SUBLIMES if told.behaviour == SUBLIMES_LABEL else DECOMPOSES
        found[cas] = (told.behaviour, f"{text}: {told.when}")
    return pd.DataFrame.from_dict(found, orient="index", columns=["label", "reason"]).rename_axis("cas")


def _sublimers(observations: pd.DataFrame, values: pd.DataFrame) -> list[str]:
    """Components whose solid reaches one atmosphere below the melting point, by a correlation."""
    rows = observations[(observations["property"] == "sublimation_pressure") & observations["equation"].notna()]
    parts = [rows.iloc[:0].assign(within=0.0, beyond=0.0)]
    for equation, group in rows.groupby("equation", sort=True):
        low, high = group["T_min_K"].to_numpy(), group["T_max_K"].to_numpy()
        reached = [
            temperature_at(str(equation), stacked(group["coefficients"]), ATMOSPHERE_PA, low, high * factor)
            for factor in (LITTLE_BEYOND, FAR_BEYOND)
        ]
        parts.append(group.assign(within=reached[0], beyond=reached[1]))
    table = pd.concat(parts)
    held = {name: values[values["property"] == name].set_index("cas")["value"] for name in (MELTING, BOILING)}
    melting_K = table["cas"].map(held[MELTING]).astype(float) - MELTING_MARGIN_K
    at_printed = (table["beyond"] - table["cas"].map(held[BOILING]).astype(float)).abs() <= SAME_TEMPERATURE_K
    sublimes = (table["within"] < melting_K) | (at_printed & (table["beyond"] < melting_K))
    return sorted(set(table.loc[sublimes, "cas"]))


def _kinds(components: pd.DataFrame, agreed: pd.DataFrame) -> dict[str, str]:
    """Components of a kind that decomposes, whose boiling point one house alone tells."""
    inside = agreed[(agreed["property"] == BOILING) & agreed["inside"]]
    grouped = inside.groupby("cas")
    lone = (grouped["house"].nunique() < 2) & ~grouped["fitted"].any()
    known = components[components["cas"].isin(lone.index[lone]) & components["smiles"].notna()]
    known = known[known["smiles"].str.contains(_MAY_BE_ONE)]
    silence()
    patterns = {kind: (Chem.MolFromSmarts(smarts), count) for kind, (smarts, count) in KINDS.items()}
    found = {}
    for cas, smiles in zip(known["cas"], known["smiles"], strict=True):
        molecule = Chem.MolFromSmiles(smiles)
        if molecule is None or not molecule.HasSubstructMatch(_ORGANIC):
            continue
        for kind, (pattern, count) in patterns.items():
            if len(molecule.GetSubstructMatches(pattern)) >= count:
                found[cas] = kind
                break
    return found


def impossible_melting_points(
    agreed: pd.DataFrame, values: pd.DataFrame, expected: pd.DataFrame, components: pd.DataFrame, labelled: pd.Index
) -> pd.Series:
    """Voices for a melting point at or above a better supported boiling point: why, by index of the voice.

    What sublimes or decomposes (`labelled`) is left alone. Without a carbon
    atom, only those are named beside which another melting point stays.
    """
    told = _boiling(agreed, values, expected)
    told = told[~told.index.isin(labelled)]
    voices = agreed[(agreed["property"] == MELTING) & agreed["cas"].isin(told.index)].join(told, on="cas")
    above = voices["value"] > voices["T_b_K"] * (1.0 - NARROWEST)
    high = voices[above].groupby("cas")["house"].nunique().reindex(voices["cas"], fill_value=0).set_axis(voices.index)
    low = voices[~above].groupby("cas")["house"].nunique().reindex(voices["cas"], fill_value=0).set_axis(voices.index)
    together = (voices["value"] - voices["T_b_K"]).abs() <= NARROWEST * voices["T_b_K"]
    weak = (high == 1) | (low >= high) | (high < voices["houses"]) | (together & voices["very_sure"])
    organic = voices["cas"].map(components.set_index("cas")["formula"]).str.match(r"C(?![a-z])").fillna(False)
    higher = voices["value"] > voices["expected_value"]
    supported = voices["told_twice"] | (together & voices["as_one"]) | (voices["confirmed"] & higher)
    impossible = above & weak & supported & (organic.astype(bool) | (low > 0))
    words = np.where(together, BOILING_IN_PLACE, MELTS_ABOVE_BOILING)
    return pd.Series(words, index=voices.index)[impossible]


def refused_boiling_points(
    agreed: pd.DataFrame, values: pd.DataFrame, expected: pd.DataFrame, behaviour: pd.DataFrame
) -> pd.DataFrame:
    """Boiling points that nothing can have: columns cas, property, reason."""
    told = _boiling(agreed, values, expected)
    melting = values[values["property"] == MELTING].set_index("cas")[["value", "u95", "n_sources"]].add_prefix("T_m_")
    told = told.join(melting)
    T_m_K, T_b_K = told["T_m_value"], told["T_b_K"]
    below = T_b_K < T_m_K - np.maximum(told["T_m_u95"], MELTING_MARGIN_K)
    together = (T_b_K - T_m_K).abs() <= NARROWEST * T_m_K
    one_figure = together & ~told["told_twice"] & ~(told["as_one"] & (told["T_m_n_sources"] < 2))
    reason = behaviour["reason"].reindex(told.index)
    reason = reason.fillna(pd.Series(BELOW_MELTING, index=told.index).where(below))
    reason = reason.fillna(pd.Series(AT_MELTING, index=told.index).where(one_figure)).dropna()
    return pd.DataFrame({"cas": reason.index, "property": BOILING, "reason": reason.to_numpy()})


def _boiling(agreed: pd.DataFrame, values: pd.DataFrame, expected: pd.DataFrame) -> pd.DataFrame:
    """The boiling points by CAS number, and what supports them.

    `confirmed`: the structure does; `very_sure`: and would not believe much
    else; `as_one`: it does if the same figure is printed as the melting point;
    `told_twice`: two houses or a correlation do, and the structure does not
    object; `houses`: so many.
    """
    held = values[values["property"] == BOILING].set_index("cas")
    table = pd.DataFrame({"T_b_K": held["value"]}).join(expected)
    off_K = (table["T_b_K"] - table["expected_value"]).abs()
    reach_K = table["expected_u95"].where(table["expected_u95"] <= SURE_U95_K, 0.5 * table["expected_u95"])
    table["confirmed"] = off_K <= reach_K
    table["very_sure"] = table["confirmed"] & (table["expected_u95"] <= VERY_SURE_U95_K)
    reach_K = CONTRADICTED * table["expected_u95"]
    table["as_one"] = (off_K <= reach_K) & (table["expected_value"] < NEARER_TO_BOILING * table["T_b_K"])
    inside = agreed[(agreed["property"] == BOILING) & agreed["inside"]].groupby("cas")
    table["houses"] = inside["house"].nunique().reindex(table.index, fill_value=0)
    by_correlation = inside["fitted"].any().reindex(table.index, fill_value=False)
    contradicted = table["expected_value"] - table["T_b_K"] > reach_K
    table["told_twice"] = ((table["houses"] >= 2) | by_correlation) & ~contradicted
    return table
