"""The whole refresh: both services are read to the end, then a snapshot takes the place of the old one."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

import platformdirs

from cutpoint.pipeline import snapshot
from cutpoint.pipeline.snapshot import SCHEMAS, About
from cutpoint.schema.errors import SourceChanged, SourceMissing, WrongUsage

from .patience import Patience
from .pubchem import PubChem, identity_path, synonyms_path
from .session import LiveSession, Progress, Traffic, service_address, user_agent
from .sparql import QUERIES
from .staging import Staging
from .wikidata import Wikidata

WIKIDATA = "https://query.wikidata.org/sparql"
PUBCHEM = "https://pubchem.ncbi.nlm.nih.gov/rest/pug"
"""Base addresses of the public services."""

WIKIDATA_LICENCE = "CC0 1.0, https://www.wikidata.org/wiki/Wikidata:Licensing"
PUBCHEM_LICENCE = "public domain, https://www.ncbi.nlm.nih.gov/home/about/policies/"


@dataclass(frozen=True)
class RefreshReport:
    """What a refresh did: the snapshot it wrote, how it came by it, and what is not in it."""

    folder: str
    digest: str
    changed: bool
    """Whether the snapshot holds anything else than the one before."""
    resumed: bool
    """Whether it went on with a run that had stopped."""
    rows: dict[str, int]
    licences: dict[str, str]
    answers: dict[str, int]
    """Answers with a body (`fetched`), as `unchanged`, and older ones in place of a service that failed (`stale`)."""
    unknown_to_pubchem: int
    rejected_by_reason: dict[str, int]
    seconds: float


def refresh(
    folder: Path | None = None,
    *,
    wikidata: str = WIKIDATA,
    pubchem: str = PUBCHEM,
    contact: str,
    components: Sequence[str] = (),
    without_structure: Sequence[str] = (),
    cache: Path | None = None,
    patience: Patience | None = None,
    progress: Progress | None = None,
) -> RefreshReport:
    """Fetch from both services and write the snapshot to a folder, the default one if none is given.

    `components` are the CAS numbers that are looked up in Wikidata beside those that it lists
    by property; `without_structure` those of them that PubChem is asked for. A run that stops
    leaves the folder as it was, and the next one with the same arguments goes on where it stopped.
    Raises LiveSourceFailed if a service cannot be read, WrongUsage for an argument that
    cannot be used or a place that cannot be written.
    """
    tell = progress or (lambda stage, fraction: None)
    wikidata, pubchem = service_address(wikidata), service_address(pubchem)
    user_agent(contact)
    folder = folder or snapshot.default_folder()
    snapshot.check_replaceable(folder)
    place = cache or platformdirs.user_cache_path("cutpoint") / "live"
    settings = _fingerprint(wikidata, pubchem, sorted(components), sorted(without_structure))
    try:
        with Staging(place, settings) as staging, LiveSession(contact, place, patience or Patience()) as session:
            begun = time.monotonic()
            Wikidata(session, wikidata, staging).fetch(components, _part(tell, 0.0, 0.6))
            PubChem(session, pubchem, staging).fetch(components, without_structure, _part(tell, 0.6, 0.97))
            tell("write the snapshot", 0.97)
            about = _about(wikidata, pubchem, staging.started)
            report = _written(folder, staging, about, session.traffic, begun)
            staging.discard()
            session.forget_old()
    except (OSError, sqlite3.OperationalError) as error:
        raise WrongUsage(
            f"The snapshot {folder} or what is fetched for it ({place}) cannot be written: {error}. "
            "Make room there or name another folder; a new run goes on where this one stopped."
        ) from error
    tell("done", 1.0)
    return report


def _written(
    folder: Path, staging: Staging, about: Mapping[str, About], traffic: Traffic, begun: float
) -> RefreshReport:
    """Write what a run has fetched as the snapshot, and tell of it."""
    before = _digest_before(folder)
    digest = snapshot.write(folder, {name: staging.batches(name) for name in SCHEMAS}, about)
    files = snapshot.read_manifest(folder)["files"]
    return RefreshReport(
        folder=str(folder),
        digest=digest,
        changed=digest != before,
        resumed=staging.resumed,
        rows={name: files[f"{name}.parquet"]["rows"] for name in SCHEMAS},
        licences={name: told.licence for name, told in about.items()},
        answers=asdict(traffic),
        unknown_to_pubchem=staging.count("unknown"),
        rejected_by_reason=staging.reasons(),
        seconds=round(time.monotonic() - begun, 2),
    )


def _part(tell: Progress, start: float, end: float) -> Progress:
    """Progress of a part of the work, as progress of the whole."""
    return lambda stage, fraction: tell(stage, start + (end - start) * fraction)


def _fingerprint(*settings: object) -> str:
    """What a run must have in common with one that it goes on with."""
    return hashlib.sha256(json.dumps([version("cutpoint"), *settings]).encode()).hexdigest()


def _digest_before(folder: Path) -> str | None:
    try:
        return str(snapshot.read_manifest(folder)["digest"])
    except (SourceMissing, SourceChanged):
        return None


def _about(wikidata: str, pubchem: str, started: float) -> dict[str, About]:
    """Where each table of the snapshot comes from.

    The time is that of the run's beginning: its answers are no older, but for those that
    stand in for a service that failed, which the report counts.
    """
    fetched = datetime.fromtimestamp(started, UTC).isoformat(timespec="seconds")
    query = {table: text % {"values": "..."} for table, text in QUERIES.items()}
    about = {table: About(text, wikidata, fetched, WIKIDATA_LICENCE) for table, text in query.items()}
    about["pubchem_identities"] = About(identity_path("..."), pubchem, fetched, PUBCHEM_LICENCE)
    about["pubchem_synonyms"] = About(synonyms_path(["..."]), pubchem, fetched, PUBCHEM_LICENCE)
    both = f"Wikidata: {WIKIDATA_LICENCE}; PubChem: {PUBCHEM_LICENCE}"
    about["rejected"] = About("all of the above", f"{wikidata}; {pubchem}", fetched, both)
    return about
