"""A server on the loopback that speaks SPARQL 1.1 and PUG REST as their documentation defines them.

It answers a query by what stands in it: the variables selected, the VALUES, LIMIT and OFFSET,
the properties. Faults are served to the next requests, in the order in which they are put down.
"""

from __future__ import annotations

import hashlib
import json
import re
import socket
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from typing import Any
from urllib.parse import parse_qs, unquote, unquote_plus, urlsplit

Binding = dict[str, dict[str, str]]

SPARQL_JSON = "application/sparql-results+json"
WATER_CAS, WATER_CID = "7732-18-5", 962
"""What PubChem always knows."""
NOT_FOUND = {"Fault": {"Code": "PUGREST.NotFound", "Message": "No CID found", "Details": ["No CID found"]}}


@dataclass
class Seen:
    """A request that reached the server, and how it was answered."""

    path: str
    headers: dict[str, str]
    status: int = 0
    sent: int = 0
    at: float = field(default_factory=time.monotonic)


@dataclass
class StandIn:
    """The server's state: what it knows, what it saw, which faults come next, and what happens at each request.

    At a path (decoded) for which `fails_at` holds it always fails, whatever else.
    """

    substances: Any
    address: str = ""
    seen: list[Seen] = field(default_factory=list)
    faults: deque[str | None] = field(default_factory=deque)
    always: str | None = None
    fails_at: Callable[[str], bool] = lambda path: False
    retry_after: str = "7"
    etags: bool = True
    at_request: Callable[[int], None] = lambda count: None

    @property
    def wikidata(self) -> str:
        """Address of the query service."""
        return f"{self.address}/sparql"

    @property
    def pubchem(self) -> str:
        """Address of PUG REST."""
        return f"{self.address}/rest/pug"

    def bodies(self) -> int:
        """Number of answers that had a body."""
        return sum(seen.sent > 0 for seen in self.seen)


@contextmanager
def serving(substances: Any) -> Iterator[StandIn]:
    """A server that knows some substances, on a free port of the loopback."""
    state = StandIn(substances)
    handler = type("Handler", (_Handler,), {"state": state})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    state.address = f"http://127.0.0.1:{server.server_port}"
    thread.start()
    try:
        yield state
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


class _Handler(BaseHTTPRequestHandler):
    state: StandIn
    protocol_version = "HTTP/1.1"
    wbufsize = -1  # head and body go out together

    def log_message(self, format: str, *arguments: Any) -> None:
        """Say nothing."""

    def do_GET(self) -> None:
        seen = Seen(self.path, dict(self.headers))
        self.state.seen.append(seen)
        self.state.at_request(len(self.state.seen))
        fault = self.state.faults.popleft() if self.state.faults else self.state.always
        if self.state.fails_at(unquote_plus(self.path)):
            fault = "504"
        status, kind, body = self._answer()
        if fault is not None:
            status, kind, body = self._spoil(fault, status, kind, body)
        seen.status, seen.sent = status, len(body)
        self._send(seen, status, kind, body, fault)

    def _answer(self) -> tuple[int, str, bytes]:
        parts = urlsplit(self.path)
        if parts.path == "/sparql":
            result = _select(parse_qs(parts.query)["query"][0], self.state.substances)
            return 200, SPARQL_JSON, _json(result)
        status, result = _pug(unquote(parts.path).removeprefix("/rest/pug/"), self.state.substances)
        return status, "application/json", _json(result)

    def _spoil(self, fault: str, status: int, kind: str, body: bytes) -> tuple[int, str, bytes]:
        if fault.isdigit():
            return int(fault), "text/plain", b"no"
        if fault == "html":
            return status, "text/html; charset=utf-8", b"<html><body>Our servers are busy</body></html>"
        if fault == "truncated":  # as a query service that runs into its time limit while it writes
            return status, kind, body[: len(body) // 2]
        if fault == "other json":
            return status, kind, b"[1, 2]"
        if fault == "type":
            return status, "application/octet-stream", body
        if fault == "slow":
            time.sleep(0.6)
        return status, kind, body

    def _send(self, seen: Seen, status: int, kind: str, body: bytes, fault: str | None) -> None:
        etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
        validated = self.state.etags and status in (200, 404) and fault is None
        if validated and self.headers.get("If-None-Match") == etag:
            seen.status, seen.sent, status, body = 304, 0, 304, b""
        self.send_response(status)
        if validated:
            self.send_header("ETag", etag)
        if fault == "429":
            self.send_header("Retry-After", self.state.retry_after)
        if status != 304:
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body[: len(body) // 2] if fault == "cut" else body)
        self.wfile.flush()
        if fault == "cut":
            self.connection.shutdown(socket.SHUT_RDWR)
            self.close_connection = True


def _json(answer: Any) -> bytes:
    return json.dumps(answer, ensure_ascii=False).encode()


def _select(query: str, substances: Any) -> dict[str, Any]:
    """The answer to a SELECT."""
    selected = re.findall(r"\?(\w+)", query.partition("WHERE")[0])
    items = [int(number) for number in re.findall(r"wd:Q(\d+)", _values(query, "item"))]
    numbers = re.findall(r'"([\d-]+)"', _values(query, "cas"))
    if "VALUES ?cas" in query:
        known = [substances.by_cas[number] for number in numbers if number in substances.by_cas]
        rows = [row for number in known for row in _about("identity", number, substances)]
    elif "VALUES ?item" in query:
        kind = "names" if "skos:altLabel" in query else "values" if "quantityAmount" in query else "identity"
        rows = [row for number in items for row in _about(kind, number, substances)]
    else:
        rows = _listed(query, substances)
    solutions = [{name: row[name] for name in selected if name in row} for row in rows]
    return {"head": {"vars": selected}, "results": {"bindings": solutions}}


def _about(kind: str, number: int, substances: Any) -> list[Binding]:
    rows: list[Binding] = getattr(substances, kind)(number)
    return rows


def _listed(query: str, substances: Any) -> list[Binding]:
    """A page of the items with a property."""
    wanted = re.search(r"\bp:(P\d+)", query)
    limit, offset = re.search(r"LIMIT (\d+)", query), re.search(r"OFFSET (\d+)", query)
    assert wanted and limit and offset and "ORDER BY ?item" in query and "wdt:P231" in query
    start = int(offset[1])
    page = substances.listing(wanted[1])[start : start + int(limit[1])]
    return [{"item": {"type": "uri", "value": f"http://www.wikidata.org/entity/{item}"}} for item in page]


def _values(query: str, variable: str) -> str:
    block = re.search(rf"VALUES \?{variable} \{{(.*?)\}}", query)
    return block[1] if block else ""


def _pug(path: str, substances: Any) -> tuple[int, Any]:
    """Status and JSON for a path of PUG REST."""
    if found := re.fullmatch(r"compound/name/([^/]+)/property/([^/]+)/JSON", path):
        number = WATER_CID if found[1] == WATER_CAS else substances.by_cas.get(found[1])
        if number is None:
            return 404, NOT_FOUND
        told = substances.compound(number)
        wanted = {"CID": told["CID"]} | {name: told[name] for name in found[2].split(",")}
        return 200, {"PropertyTable": {"Properties": [wanted]}}
    if found := re.fullmatch(r"compound/cid/([\d,]+)/synonyms/JSON", path):
        compounds = [{"CID": int(cid), "Synonym": [f"demoan {cid}", f"demo-{cid}"]} for cid in found[1].split(",")]
        return 200, {"InformationList": {"Information": compounds}}
    return 400, {"Fault": {"Code": "PUGREST.BadRequest", "Message": "Invalid request"}}
