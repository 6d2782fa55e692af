"""Cautions are specific, use the cautious end, and defer to the safety data sheet."""

from __future__ import annotations

import pytest

from cutpoint import db
from cutpoint.db.cautions import LAST_WORD


def _told(store: db.Store, name: str) -> str:
    return " ".join(store.component(name).cautions())


def test_peroxide_forming_ether(store: db.Store) -> None:
    told = _told(store, "diethyl ether")
    assert "Flash point -47.0 °C" in told and "room temperature" in told
    assert "Autoignition at 160.0 °C: a mantle or hot plate can be hotter" in told
    assert "1.7 % by volume" in told
    assert "2.6 times as heavy as air" in told
    assert "as distillation does: test diethyl ether for them" in told and "never distil to dryness" in told
    assert "1200 mg/m3" in told


@pytest.mark.parametrize(
    ("name", "words"),
    [("o-xylene", "once it is warm"), ("butanoic acid", "hot butanoic acid"), ("toluene", "well below")],
)
def test_flash_point_decides_the_words(store: db.Store, name: str, words: str) -> None:
    assert words in _told(store, name)


def test_poison_without_fire_data(store: db.Store) -> None:
    told = _told(store, "carbon monoxide")
    assert "23 mg/m3 (20 ppm) averaged over a shift" in told
    assert "not the same as not flammable" in told
    assert "heavy as air" not in told


def test_nothing_known_is_not_safe(store: db.Store) -> None:
    assert "not the same as safe" in _told(store, "hexane")


@pytest.mark.parametrize("name", ["water", "diethyl ether", "petroleum ether", "carbon monoxide"])
def test_last_word(store: db.Store, name: str) -> None:
    told = store.component(name).cautions()
    assert told[-1] == LAST_WORD
    assert any("closed system" in sentence for sentence in told)
