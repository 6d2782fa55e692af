"""Cautions are specific, use the cautious end, and defer to the safety data sheet."""

from __future__ import annotations

import pytest

from cutpoint import db
from cutpoint.db.cautions import LAST_WORD, LIMIT_NAMES, NOT_TO_DRYNESS
from cutpoint.schema.tables import LIMIT_KINDS


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


def test_each_class_of_peroxide_former_has_its_sentence(store: db.Store) -> None:
    stored, concentrated, polymerising = (
        _told(store, name) for name in ("diisopropyl ether", "diethyl ether", "styrene")
    )
    assert "old or undated stock of diisopropyl ether is not opened, moved or distilled" in stored
    assert "licensed disposal" in stored and "never distil to dryness" in stored
    assert "remove them first, and never distil to dryness" in concentrated and "disposal" not in concentrated
    assert "polymerise violently" in polymerising and "do not distil it uninhibited" in polymerising
    for told in (stored, concentrated, polymerising):
        assert told.count("to dryness") == 1 and "class" not in told


def test_what_does_not_boil_is_not_distilled(store: db.Store) -> None:
    told = _told(store, "sodamide")
    assert "licensed disposal." in told
    assert "dryness" not in told and "test" not in told and "heavy as air" not in told


def test_a_dust_is_told_in_milligrams(store: db.Store) -> None:
    told = _told(store, "calcium hydroxide")
    assert "5 mg/m3 averaged over a shift. Raise no dust" in told
    for words in ("ppm", "heavy as air", "receiver", "dryness"):
        assert words not in told


def test_a_gas_is_led_off(store: db.Store) -> None:
    told = _told(store, "carbon monoxide")
    assert "A condenser does not hold it" in told and "receiver" not in told and "dryness" not in told


def test_what_burns_is_not_distilled_to_dryness(store: db.Store) -> None:
    assert NOT_TO_DRYNESS in store.component("toluene").cautions()


def test_a_stream_has_cautions_and_limits_in_ppm(store: db.Store) -> None:
    told = _told(store, "petroleum ether")
    assert "300 ppm averaged over a shift. Vent the receiver" in told and NOT_TO_DRYNESS in told
    assert "exposure_limit (TWA): 300 ppm" in " ".join(map(str, store.component("petroleum ether").hazards()))


def test_a_hundred_has_no_exponent(store: db.Store) -> None:
    assert "426 mg/m3 (100 ppm) for a short time" in _told(store, "styrene")


def test_every_kind_of_exposure_limit_has_its_words() -> None:
    assert {*LIMIT_NAMES, "value", "class"} == set(LIMIT_KINDS)
