"""Trying again, and not too fast: beneath the cache, so that only a whole answer is ever kept."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit

import requests
from requests.adapters import HTTPAdapter

JSON_TYPES = ("application/sparql-results+json", "application/json")
PACE_S = 0.2
"""Least time between two requests to a host: 5 requests a second at most, the limit that PubChem states
(https://pubchem.ncbi.nlm.nih.gov/docs/programmatic-access)."""
LONGEST_WAIT_S = 300.0
"""Longest wait between two tries; a service that asks for more is not asked again in this run."""
FARTHEST_S = 365.0 * 24 * 3600
"""A service that asks for more is taken to ask for this: no calendar holds every number."""
MOST_TOLD = 200
"""Characters of an error page that are told."""


@dataclass(frozen=True)
class Patience:
    """How often a request is tried, how long the first wait is (it doubles each time), and the clock to go by."""

    tries: int = 6
    first_wait_s: float = 1.0
    clock: Callable[[], float] = time.monotonic
    sleep: Callable[[float], None] = time.sleep


class GaveUp(requests.RequestException):
    """A request that was tried as often as is sensible."""

    def __init__(self, fault: str, tries: int) -> None:
        super().__init__(fault)
        self.tries = tries


@dataclass(frozen=True)
class Fault:
    """What is wrong with an answer, whether it may pass, and after how long the server says so."""

    told: str
    may_pass: bool = True
    wait_s: float | None = None

    @property
    def leave_alone(self) -> bool:
        """Whether the server asks for more patience than a run has."""
        return self.wait_s is not None and self.wait_s > LONGEST_WAIT_S


class PatientAdapter(HTTPAdapter):
    """Sends a request until it is answered in full and in JSON.

    Tried again are time-outs, connections cut, statuses 408, 429 and 5xx, another content
    type than JSON, and JSON that breaks off. Raises GaveUp. After it gave up, the next
    requests to the host are tried once each until one succeeds; a host that asks to be left
    alone for longer than `LONGEST_WAIT_S` is not asked again.
    """

    def __init__(self, patience: Patience) -> None:
        super().__init__()
        self.failures = 0
        self._patience = patience
        self._out_of_order: set[str] = set()
        self._left_alone: dict[str, Fault] = {}
        self._earliest: dict[str, float] = {}

    def send(self, request: requests.PreparedRequest, *args: Any, **options: Any) -> requests.Response:
        """Send a prepared request; its answer has been read to the end."""
        host = urlsplit(str(request.url)).hostname or ""
        most = 1 if host in self._out_of_order else self._patience.tries
        attempt = 1
        while isinstance(outcome := self._once(host, request, *args, **options), Fault):
            if not outcome.may_pass or attempt == most:
                self.failures += 1
                self._out_of_order.add(host)
                raise GaveUp(outcome.told, attempt)
            self._patience.sleep(self._wait_s(outcome, attempt))
            attempt += 1
        self._out_of_order.discard(host)
        return outcome

    def _once(
        self, host: str, request: requests.PreparedRequest, *args: Any, **options: Any
    ) -> requests.Response | Fault:
        if host in self._left_alone:
            return self._left_alone[host]
        self._keep_pace(host)
        try:
            response = super().send(request, *args, **options)
            fault = fault_of(response)
        except requests.RequestException as failure:
            return Fault(in_words(failure))
        if fault is not None and fault.leave_alone:
            self._left_alone[host] = fault
        return fault or response

    def _wait_s(self, fault: Fault, attempt: int) -> float:
        doubled_s = min(self._patience.first_wait_s * 2 ** (attempt - 1), LONGEST_WAIT_S)
        return doubled_s if fault.wait_s is None else fault.wait_s

    def _keep_pace(self, host: str) -> None:
        """Wait until the host may be asked again; a server on this machine is nobody else's."""
        if is_loopback(host):
            return
        now = self._patience.clock()
        wait_s = self._earliest.get(host, now) - now
        if wait_s > 0:
            self._patience.sleep(wait_s)
        self._earliest[host] = max(now, now + wait_s) + PACE_S


def is_loopback(host: str) -> bool:
    """Whether a host is this machine."""
    with suppress(ValueError):
        return ip_address(host).is_loopback
    return host == "localhost"


def fault_of(response: requests.Response) -> Fault | None:
    """What is wrong with an answer, None if it can be used; reads it to the end.

    Raises RequestException if the connection is cut.
    """
    content = response.content
    status = response.status_code
    if response.is_redirect or (status == 304 and _asked_if_modified(response)):
        return None
    told = f"it answered {status} {response.reason or ''}".rstrip()
    if status in (408, 429) or status >= 500:
        return _busy(told, retry_after_s(response.headers.get("Retry-After")))
    if status not in (200, 400, 404):
        return Fault(told + _beginning(response), may_pass=False)
    kind = response.headers.get("Content-Type", "").partition(";")[0].strip().lower()
    if kind not in JSON_TYPES:
        told += f" with {kind or 'no content type'} instead of JSON" + _beginning(response)
        return Fault(told, may_pass=status == 200)
    try:
        json.loads(content)
    except ValueError as broken:
        return Fault(f"{told} with JSON that is broken ({broken})", may_pass=status == 200)
    except RecursionError:
        return Fault(f"{told} with JSON that is nested too deeply", may_pass=False)
    return None


def _asked_if_modified(response: requests.Response) -> bool:
    return any(name in response.request.headers for name in ("If-None-Match", "If-Modified-Since"))


def _busy(told: str, wait_s: float | None) -> Fault:
    """The fault of a server that has no time now; how long it is to be left alone is told if that is long."""
    fault = Fault(told, wait_s=wait_s)
    if not fault.leave_alone:
        return fault
    until = datetime.now(UTC) + timedelta(seconds=wait_s or 0.0)
    told += f" and asks to be left alone until {until:%Y-%m-%d %H:%M} UTC: run it again then"
    return Fault(told, may_pass=False, wait_s=wait_s)


def in_words(failure: requests.RequestException) -> str:
    """What went wrong with a connection, without the URL, which may be thousands of characters long."""
    if isinstance(failure, requests.Timeout):
        return "no answer came in time"
    reason = getattr(failure.args[0], "reason", None) if failure.args else None
    if reason is not None:
        return f"no connection could be made: {str(reason).rpartition(': ')[2]}"
    if isinstance(failure, requests.ConnectionError | requests.exceptions.ChunkedEncodingError):
        return "the connection was cut"
    return f"the answer cannot be used ({type(failure).__name__})"


def retry_after_s(header: str | None) -> float | None:
    """Seconds that a Retry-After header (RFC 9110, 10.2.3) asks to wait: a number, or a date; None if unreadable."""
    if header is None:
        return None
    if re.fullmatch(r"[+-]?[0-9]+", header.strip()):
        wait_s = float(header)  # infinity, if the digits are many
    else:
        try:
            date = parsedate_to_datetime(header)
            wait_s = (date.replace(tzinfo=date.tzinfo or UTC) - datetime.now(UTC)).total_seconds()
        except (ValueError, OverflowError):
            return None
    return min(max(wait_s, 0.0), FARTHEST_S)


def _beginning(response: requests.Response) -> str:
    """The first words of an error page."""
    words = " ".join(response.text[: 4 * MOST_TOLD].split())[:MOST_TOLD]
    return f" (“{words}”)" if words else ""
