"""Components that a table may have mixed up: isomers, and the salts, solvates and free forms of one substance.

`stereoisomer`   one connectivity (first block of the InChIKey), another InChIKey;
                 labelled molecules are among them.
`salt or form`   one connectivity once all but the largest fragment is taken away
                 and that is neutral: a hydrochloride and its base, a hydrate and
                 the anhydrous substance.
`isomer`         one formula, and one name but for its locants and the prefixes
                 that stand for them: 2- and 3-methylhexane.
"""

from __future__ import annotations

import re

import pandas as pd
from rdkit import Chem
from rdkit.Chem.MolStandardize import rdMolStandardize

from .structure import silence

STEREOISOMER = "stereoisomer"
FORM = "salt or form"
ISOMER = "isomer"

MOST_RELATIVES = 30
"""A name that more components share tells none of them apart."""

LEAST_LETTERS = 4
"""A name that keeps fewer letters without its locants is a number or a code."""

_CONNECTIVITY_BLOCK = 14
_PREFIXES = re.compile(
    r"\b(?:cis|trans|alpha|beta|gamma|delta|dl|iso|sec|tert|neo|ortho|meta|para|rac|endo|exo|threo|erythro|meso|sn|"
    r"[nompdlrsez])\b"
)
_NO_LETTERS = re.compile(r"[^a-z]+")


def relatives(components: pd.DataFrame, wanted: pd.Series) -> pd.DataFrame:
    """Pairs (cas, relative, relation) among the components whose CAS numbers are `wanted`, each pair both ways.

    A pair has one relation, the closest: stereoisomers, then forms, then isomers.
    """
    known = components[components["cas"].isin(wanted) & (components["kind"] == "pure")]
    connectivity = known["inchikey"].str.slice(stop=_CONNECTIVITY_BLOCK)
    parts = [
        _sharing(known["cas"], connectivity, STEREOISOMER),
        _sharing(known["cas"], _parents(known["smiles"], connectivity), FORM),
        _sharing(known["cas"], _bare_names(known["name"], known["formula"]), ISOMER),
    ]
    return pd.concat(parts, ignore_index=True).drop_duplicates(["cas", "relative"], ignore_index=True)


def _sharing(cas: pd.Series, key: pd.Series, relation: str) -> pd.DataFrame:
    table = pd.DataFrame({"cas": cas, "key": key}).dropna()
    size = table.groupby("key")["cas"].transform("size")
    table = table[(size > 1) & (size <= MOST_RELATIVES)]
    pairs = table.merge(table.rename(columns={"cas": "relative"}), on="key")
    return pairs.loc[pairs["cas"] != pairs["relative"], ["cas", "relative"]].assign(relation=relation)


def _parents(smiles: pd.Series, connectivity: pd.Series) -> pd.Series:
    """Connectivity of the neutral largest fragment; that of the whole where there is but one, uncharged."""
    silence()
    uncharger = rdMolStandardize.Uncharger()

    def parent(text: str) -> str | None:
        molecule = Chem.MolFromSmiles(max(text.split("."), key=len))
        if molecule is None:
            return None
        key = Chem.MolToInchiKey(uncharger.uncharge(molecule))  # type: ignore[no-untyped-call]
        return str(key)[:_CONNECTIVITY_BLOCK] or None

    composed = smiles[smiles.str.contains(r"\.|\+|-\]", na=False)]
    return pd.concat([connectivity.drop(composed.index), composed.map(parent)]).reindex(connectivity.index)


def _bare_names(name: pd.Series, formula: pd.Series) -> pd.Series:
    """Names without locants, beside the formula; none where too little of the name is left."""
    bare = name.str.lower().str.replace(_PREFIXES, " ", regex=True).str.replace(_NO_LETTERS, "", regex=True)
    return (bare + " " + formula).where(bare.str.len() >= LEAST_LETTERS)
