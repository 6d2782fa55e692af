"""A frozen snapshot of the live open sources, read like any other open table.

Each file of the snapshot is a source of the build, named as the file is:
statements of values, identities, names in many languages, and what the fetch
itself refused. Where `wikidata_values` speaks, the packaged table `wikidata`,
an older state of the same knowledge base, is superseded (`superseded`).
Identities serve components that have none from the packaged tables, and names
are the weakest claims (`resolve`, `naming`).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from cutpoint.schema.errors import SourceChanged
from cutpoint.schema.names import ANY_LANGUAGE, ENGLISH, LANGUAGES
from cutpoint.schema.tables import check, empty

from . import snapshot
from .live_values import observed
from .normalise import NAME_FIELDS, WHOLE_ROW, Normalised, normalised_observations
from .source import LIVE_DISTRIBUTION, Source
from .structure import INCHI_PREFIX, drawn_formula

Frame = pd.DataFrame

TITLES = {
    "wikidata_values": ("Wikidata, statements on chemical substances", "Wikidata, Wikimedia Foundation"),
    "wikidata_items": ("Wikidata, identifiers of chemical substances", "Wikidata, Wikimedia Foundation"),
    "wikidata_names": ("Wikidata, labels and aliases of chemical substances", "Wikidata, Wikimedia Foundation"),
    "pubchem_identities": (
        "PubChem, computed identities by CAS number",
        "PubChem, National Library of Medicine, National Center for Biotechnology Information",
    ),
    "pubchem_synonyms": (
        "PubChem, synonyms",
        "PubChem, National Library of Medicine, National Center for Biotechnology Information",
    ),
    "rejected": ("What the fetch of the live sources refused", "Wikidata and PubChem, as above"),
}
"""Title and publisher by file."""

NAMED_OTHERWISE = {"rejected": "live_rejected"}
"""Sources that are not called as their file is."""

_CODES = {language: code for code, language in LANGUAGES.items() if code != ANY_LANGUAGE}
_MARKED = rf"^(?P<name>.*\S)\s*\[(?P<language>{'|'.join(_CODES)})\]$"
"""A synonym that tells its language at the end, as in "Milchsaeure [German]"."""
_SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")


@dataclass(frozen=True)
class Live:
    """A snapshot that a build reads: its folder, the digest that it had when the build began, and its sources."""

    folder: Path
    digest: str
    sources: tuple[Source, ...]


def opened(folder: Path) -> Live:
    """The snapshot in a folder.

    Raises SourceMissing if there is none, SourceChanged if a file is not the one of the manifest.
    """
    told = snapshot.read(folder, only=())
    files = told.manifest["files"]
    sources = tuple(
        Source(
            name=NAMED_OTHERWISE.get(stem, stem),
            title=title,
            citation=f"{publisher}; fetched through {files[file]['address']}",
            licence=files[file]["licence"],
            distribution=LIVE_DISTRIBUTION,
            file=file,
            sha256=files[file]["sha256"],
        )
        for stem, (title, publisher) in TITLES.items()
        for file in (f"{stem}.parquet",)
    )
    return Live(folder, told.digest, sources)


def read_live(live: Live, source: Source) -> tuple[int, Normalised]:
    """How many rows a source of the snapshot has, and what they give.

    Raises SourceChanged if another snapshot has taken its place.
    """
    stem = Path(source.file).stem
    rows = _text(live, stem)
    part = _READERS[stem](live, rows)
    return len(rows), Normalised(
        normalised_observations(source, part.get("observations", Frame())),
        part.get("identities", Frame()).assign(source=source.name),
        part.get("names", Frame(columns=list(NAME_FIELDS))).assign(source=source.name),
        _rejected(part.get("rejected", Frame()), source),
    )


def _text(live: Live, stem: str) -> Frame:
    """A file as text, missing cells empty, with the index `source_row` from 1."""
    read = snapshot.read(live.folder, only=(stem,))
    if read.digest != live.digest:
        raise SourceChanged(
            f"The snapshot in {live.folder} was replaced while it was read: its digest was {live.digest}, now it is "
            f"{read.digest}. Let the refresh end, then give the same command again."
        )
    frame = read.frames[stem].fillna("").astype("str")
    frame.index = pd.RangeIndex(1, len(frame) + 1, name="source_row")
    return frame


def _rejected(refused: Frame, source: Source) -> Frame:
    return check("rejected", refused.assign(source=source.name) if len(refused) else empty("rejected"), "normalise")


def _values(live: Live, rows: Frame) -> dict[str, Frame]:
    observations, refused = observed(rows, _text(live, "wikidata_items"))
    return {"observations": observations, "rejected": refused}


def _items(live: Live, rows: Frame) -> dict[str, Frame]:
    several = rows["item"].map(rows.groupby("item")["cas"].nunique()) > 1
    return _identities(rows, several, pd.Series("", index=rows.index), pd.Series("", index=rows.index))


def _pubchem_identities(live: Live, rows: Frame) -> dict[str, Frame]:
    return _identities(rows, pd.Series(False, index=rows.index), rows["molar_mass_g_mol"], rows["title"])


def _identities(rows: Frame, several: pd.Series, molar_mass: pd.Series, title: pd.Series) -> dict[str, Frame]:
    inchi = rows["inchi"].str.removeprefix(INCHI_PREFIX)
    formula = rows["formula"].str.translate(_SUBSCRIPTS)
    formula = formula.where(formula != "", inchi.str.split("/").str[0])
    undrawn = (formula == "") & (rows["smiles"] != "")
    formula = formula.mask(undrawn, rows.loc[undrawn, "smiles"].map(drawn_formula))
    nothing = (rows["smiles"] == "") & (rows["inchikey"] == "") & (formula == "")
    reason = pd.Series("", index=rows.index).mask(nothing, "neither a structure nor a formula")
    reason = reason.mask(several, "its item has several CAS numbers")
    kept = reason == ""
    identities = Frame(
        {
            "source_row": rows.index[kept],
            "cas": rows.loc[kept, "cas"].to_numpy(),
            "formula": _or_none(formula[kept]),
            "molar_mass_g_mol": pd.to_numeric(molar_mass[kept], errors="coerce").to_numpy(),
            "smiles": _or_none(rows.loc[kept, "smiles"]),
            "inchi": _or_none(inchi[kept]),
            "inchikey": _or_none(rows.loc[kept, "inchikey"]),
            "names": pd.Series([["", name] if name else [] for name in title[kept]], dtype="object"),
        }
    )
    return {"identities": identities, "rejected": _whole(rows[~kept], rows.loc[~kept, "cas"], reason[~kept])}


def _or_none(column: pd.Series) -> pd.Series:
    column = column.reset_index(drop=True).astype("object")
    return column.where(column != "")


def _names(live: Live, rows: Frame) -> dict[str, Frame]:
    items = _text(live, "wikidata_items")
    numbers = items.drop_duplicates(["item", "cas"]).groupby("item")["cas"].agg(["first", "size"])
    cas, several = rows["item"].map(numbers["first"]), rows["item"].map(numbers["size"]) > 1
    reason = pd.Series("", index=rows.index).mask(several, "its item has several CAS numbers")
    reason = reason.mask(cas.isna(), "its item has no CAS number")
    reason = reason.mask(~rows["language"].isin(tuple(LANGUAGES)), "a language that is not read")
    choice = (rows["kind"] != "label").astype("int64")
    return _named(rows, cas, rows["text"], rows["language"], choice, reason)


def _synonyms(live: Live, rows: Frame) -> dict[str, Frame]:
    parts = rows["synonym"].str.extract(_MARKED, flags=re.IGNORECASE)
    language = parts["language"].str.capitalize().map(_CODES).fillna(ENGLISH)
    name = parts["name"].where(parts["language"].notna(), rows["synonym"])
    last = pd.Series(2, index=rows.index)
    return _named(rows, rows["cas"], name, language, last, pd.Series("", index=rows.index))


def _named(
    rows: Frame, cas: pd.Series, name: pd.Series, language: pd.Series, choice: pd.Series, reason: pd.Series
) -> dict[str, Frame]:
    reason = reason.mask((reason == "") & (name.str.strip() == ""), "an empty name")
    kept = reason == ""
    names = Frame(
        {"cas": cas[kept], "name": name[kept].str.strip(), "language": language[kept], "choice": choice[kept]}
    )
    return {
        "names": names.rename_axis("source_row").reset_index(),
        "rejected": _whole(rows[~kept], cas[~kept], reason[~kept]),
    }


def _fetch_refusals(live: Live, rows: Frame) -> dict[str, Frame]:
    none_told = pd.Series(None, index=rows.index, dtype="object")
    return {"rejected": _whole(rows, none_told, rows["source"] + ": " + rows["reason"])}


def _whole(rows: Frame, cas: pd.Series, reason: pd.Series) -> Frame:
    """Refusals of whole rows, their text tab-separated."""
    return Frame(
        {
            "source_row": rows.index,
            "field": WHOLE_ROW,
            "cas": cas.to_numpy(),
            "raw": ["\t".join(cells) for cells in rows.itertuples(index=False, name=None)],
            "reason": reason.to_numpy(),
        }
    )


_READERS: dict[str, Callable[[Live, Frame], dict[str, Frame]]] = {
    "wikidata_values": _values,
    "wikidata_items": _items,
    "wikidata_names": _names,
    "pubchem_identities": _pubchem_identities,
    "pubchem_synonyms": _synonyms,
    "rejected": _fetch_refusals,
}
