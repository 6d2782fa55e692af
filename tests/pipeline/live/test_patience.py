"""How long is waited, and how fast hosts are asked."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from email.utils import format_datetime

import pytest
import requests
from conftest import Time
from requests.adapters import HTTPAdapter

from cutpoint.pipeline.refresh import patience
from cutpoint.pipeline.refresh.patience import GaveUp, PatientAdapter, is_loopback, retry_after_s


def test_retry_after_is_a_number_or_a_date() -> None:
    assert retry_after_s("12") == 12.0
    assert retry_after_s(format_datetime(datetime.now(UTC) + timedelta(seconds=60), usegmt=True)) == pytest.approx(
        60, abs=5
    )
    assert retry_after_s("Fri, 31 Dec 1999 23:59:59 GMT") == 0.0
    assert retry_after_s("soon") is None and retry_after_s(None) is None and retry_after_s("-3") == 0.0
    assert retry_after_s("9" * 400) == retry_after_s("9" * 5000) == patience.FARTHEST_S


def test_loopback() -> None:
    assert is_loopback("localhost") and is_loopback("127.0.0.1") and is_loopback("::1")
    assert not is_loopback("192.0.2.1") and not is_loopback("example.org")


def answer(status: int, **headers: str) -> requests.Response:
    response = requests.Response()
    response.status_code, response._content = status, b"{}"
    response.headers.update({"Content-Type": "application/json"} | headers)
    return response


@pytest.fixture
def adapter(monkeypatch: pytest.MonkeyPatch, time: Time) -> PatientAdapter:
    """An adapter whose answers are handed to it, in its attribute `answers`."""
    made = PatientAdapter(time.patience())
    made.answers = []
    monkeypatch.setattr(HTTPAdapter, "send", lambda self, request, *rest, **options: self.answers.pop(0))
    return made


ASKED = requests.Request("GET", "https://example.org/x").prepare()


def test_a_host_is_asked_five_times_a_second_at_most(adapter: PatientAdapter, time: Time) -> None:
    adapter.answers = [answer(200) for _ in range(11)]
    for _ in range(11):
        adapter.send(ASKED)
    assert time.now == pytest.approx(10 * patience.PACE_S)


@pytest.mark.parametrize("asked", ["86400", "9" * 400, "Fri, 31 Dec 9999 23:59:59 GMT"])
def test_a_service_that_asks_for_long_patience_is_left_alone(adapter: PatientAdapter, time: Time, asked: str) -> None:
    adapter.answers = [answer(429, **{"Retry-After": asked}), answer(200)]
    for _ in range(2):
        with pytest.raises(GaveUp, match=r"left alone until \d{4}-\d\d-\d\d \d\d:\d\d UTC: run it again then"):
            adapter.send(ASKED)
    assert time.slept == [] and len(adapter.answers) == 1


def test_a_service_that_is_out_of_order_is_not_waited_for_again(adapter: PatientAdapter) -> None:
    adapter.answers = [answer(500) for _ in range(5)]
    with pytest.raises(GaveUp) as first:
        adapter.send(ASKED)
    with pytest.raises(GaveUp) as second:
        adapter.send(ASKED)
    assert (first.value.tries, second.value.tries, adapter.failures) == (4, 1, 2)
    adapter.answers = [answer(200), answer(500), answer(200)]
    adapter.send(ASKED)
    assert adapter.send(ASKED).status_code == 200


@pytest.mark.parametrize("status", [301, 304])
def test_a_redirection_to_nowhere_and_an_unasked_304_are_faults(adapter: PatientAdapter, status: int) -> None:
    adapter.answers = [answer(status)]
    adapter.answers[0].request = ASKED
    with pytest.raises(GaveUp, match=str(status)):
        adapter.send(ASKED)


def test_json_that_is_nested_too_deeply_is_a_fault(adapter: PatientAdapter) -> None:
    adapter.answers = [answer(200)]
    adapter.answers[0]._content = b"[" * 100_000 + b"]" * 100_000
    with pytest.raises(GaveUp, match="nested too deeply"):
        adapter.send(ASKED)
