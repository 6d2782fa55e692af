"""One session for all live services: cached, conditional, patient, polite.

The cache stands above the patience: an answer is tried for until it is whole, only then is
it kept, and only when that fails does an older one stand in (`stale-if-error`, RFC 5861).
"""

from __future__ import annotations

import hashlib
import logging
import sqlite3
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from types import TracebackType
from typing import Any
from urllib.parse import urlsplit

import requests
from requests_cache import CachedSession
from requests_cache.backends.sqlite import SQLiteCache

from cutpoint.schema.errors import LiveSourceFailed, WrongUsage

from .patience import GaveUp, Patience, PatientAdapter
from .staging import remove_database

CONNECT_TIMEOUT_S = 10
READ_TIMEOUT_S = 90
"""Wikidata's query service itself gives up after 60 s (its user manual, section Query limits)."""
FRESH_S = 300
"""How long an answer that neither says how long it holds nor has a validator counts as fresh."""
LONGEST_STALE_S = 30 * 24 * 3600
"""How old an answer may be that stands in for a service that fails."""
ACCEPTED = "application/sparql-results+json, application/json;q=0.9"
KNOWN, REFUSED, UNKNOWN = 200, 400, 404

Progress = Callable[[str, float], None]
"""Is told the stage, and the fraction of the work that is done, 0 to 1."""


@dataclass
class Traffic:
    """How requests were answered: with a body, as unchanged, or by an older answer since the service failed."""

    fetched: int = 0
    unchanged: int = 0
    stale: int = 0


@dataclass(frozen=True)
class Answer:
    """Status and JSON of an answer: 200, 404 (nothing is known of what was asked) or 400 (it cannot be asked)."""

    status: int
    body: Any


class LiveSession:
    """The session; use it as a context manager.

    `contact` is how the services can reach whoever runs this; it stands in the user agent.
    Raises WrongUsage for a contact that is missing or cannot stand in a header.
    """

    def __init__(self, contact: str, cache: Path, patience: Patience) -> None:
        cache.mkdir(parents=True, exist_ok=True)
        # An older answer that stands in is counted and told; the library would print a traceback for it.
        logging.getLogger("requests_cache").setLevel(logging.ERROR)
        self.traffic = Traffic()
        self._adapter = PatientAdapter(patience)
        self._answers = _answers(cache / "answers.sqlite")
        self._session = CachedSession(
            backend=self._answers,
            cache_control=True,
            always_revalidate=True,
            stale_if_error=LONGEST_STALE_S,
            expire_after=FRESH_S,
            allowable_codes=(KNOWN, REFUSED, UNKNOWN),
            key_fn=_key,
        )
        self._session.headers.update({"User-Agent": user_agent(contact), "Accept": ACCEPTED})
        for scheme in ("http://", "https://"):
            self._session.mount(scheme, self._adapter)

    def __enter__(self) -> LiveSession:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._session.close()  # type: ignore[no-untyped-call]

    def fetch(self, url: str, **parameters: str) -> Answer:
        """The JSON at a URL; raises LiveSourceFailed if it cannot be had."""
        failures = self._adapter.failures
        response, answer = self._get(url, parameters)
        if self._adapter.failures > failures:
            self.traffic.stale += 1
        elif response.from_cache:
            self.traffic.unchanged += 1
        else:
            self.traffic.fetched += 1
        return answer

    def probe(self, url: str, **parameters: str) -> Answer | None:
        """What a service answers now, None if nothing: neither kept answers nor the traffic have a part in it."""
        with self._session.cache_disabled():
            try:
                return self._get(url, parameters)[1]
            except LiveSourceFailed:
                return None

    def forget_old(self) -> None:
        """Delete the answers that are too old to stand in for anything."""
        kept = self._answers.responses
        # By when they were last found unchanged, not by when they were made, which the library's own deletion goes by.
        with kept.connection(commit=True) as connection:
            connection.execute(f"DELETE FROM {kept.table_name} WHERE expires < ?", [int(time.time()) - LONGEST_STALE_S])

    def _get(self, url: str, parameters: Mapping[str, str]) -> tuple[Any, Answer]:
        """A response and what it says."""
        try:
            response = self._session.get(url, params=parameters, timeout=(CONNECT_TIMEOUT_S, READ_TIMEOUT_S))
            return response, Answer(response.status_code, response.json())
        # The address of a redirection that cannot be read is a plain ValueError.
        except (requests.RequestException, ValueError) as failure:
            raise failed(url, str(failure), failure.tries if isinstance(failure, GaveUp) else 1) from failure


def _key(request: Any, **options: Any) -> str:
    """What an answer is kept under: the URL alone, for every request is a GET with the same headers."""
    return hashlib.sha256(request.url.encode()).hexdigest()


def _answers(path: Path) -> SQLiteCache:
    """The file of answers; one that is broken is begun anew."""
    try:
        return SQLiteCache(path, wal=True)
    except sqlite3.DatabaseError:
        remove_database(path)
        return SQLiteCache(path, wal=True)


def failed(url: str, fault: str, tries: int) -> LiveSourceFailed:
    """The error for a service that cannot be read."""
    often = "once" if tries == 1 else f"{tries} times"
    return LiveSourceFailed(
        f"{url} could not be read: {fault}. It was tried {often}. No snapshot was written or changed; what was fetched "
        "is kept, and `cutpoint refresh` with the same settings goes on where this run stopped."
    )


def user_agent(contact: str) -> str:
    """What the services are told of who asks; raises WrongUsage."""
    told = contact.strip()
    if not told:
        raise WrongUsage(
            "The services ask whoever fetches from them for a contact: give --contact (or set CUTPOINT_CONTACT) to an "
            "e-mail address or a web page."
        )
    if not (told.isascii() and told.isprintable()):
        raise WrongUsage(f"The contact {told!r} cannot stand in a request: use plain ASCII on one line.")
    return f"cutpoint/{version('cutpoint')} ({told})"


def service_address(text: str) -> str:
    """The base address of a service without a slash at its end; raises WrongUsage."""
    if not _is_address(text):
        raise WrongUsage(f"{text!r} is no address of a service: it must be like https://host/path.")
    return text.rstrip("/")


def _is_address(text: str) -> bool:
    try:
        parts = urlsplit(text)
        has_host = bool(parts.hostname) and parts.port != 0  # a port that is no number raises
    except ValueError:
        return False
    return parts.scheme in ("http", "https") and has_host and not parts.query and not parts.fragment
