"""No test reaches another machine."""

from __future__ import annotations

import socket

import pytest
import requests

from cutpoint.pipeline.refresh.refreshing import PUBCHEM, WIKIDATA

from ...guard import OutsideReached


@pytest.mark.parametrize("address", [WIKIDATA, PUBCHEM, "http://192.0.2.1/"])
def test_no_outside_address_can_be_reached(address: str) -> None:
    with pytest.raises(OutsideReached):
        requests.get(address, timeout=1)


def test_no_outside_host_can_be_connected_to() -> None:
    with socket.socket() as outward, pytest.raises(OutsideReached):
        outward.connect(("192.0.2.1", 80))


def test_nothing_can_be_sent_to_an_outside_host() -> None:
    with socket.socket(type=socket.SOCK_DGRAM) as outward, pytest.raises(OutsideReached):
        outward.sendto(b"x", ("192.0.2.1", 53))


def test_a_whole_refresh_stays_inside(run, server) -> None:  # the guard stands in its way otherwise
    assert run().rows["wikidata_items"] > 40
    assert all(seen.headers["Host"].startswith("127.0.0.1:") for seen in server.seen)
