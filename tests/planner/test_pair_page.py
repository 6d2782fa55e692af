"""`pair` for people and machines: its azeotropes, and the picture that `--plot` draws."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from cutpoint import db

Run = Callable[..., Result]
Answer = Callable[..., dict[str, Any]]


def described(picture: Path) -> str:
    """What the picture says of itself in words."""
    return ElementTree.parse(picture).getroot()[1].text or ""


def test_the_page_tells_the_azeotrope(run: Run, answer: Answer) -> None:
    page = run("pair", "hexane", "ethyl acetate").output
    assert "Azeotrope, with the share of hexane" in page
    told = answer("pair", "hexane", "ethyl acetate")["azeotrope"]
    assert told.keys() >= {"basis", "kind", "temperature_K", "mass_fraction_a", "mole_fraction_a", "source"}
    shares = [f"{100.0 * told[name]:.1f}" for name in ("mass_fraction_a", "mole_fraction_a")]
    row = next(line.split() for line in page.splitlines() if line.startswith("minimum"))
    boils_at = f"{told['temperature_K'] - 273.15:.1f}"
    assert row == ["minimum", "measured", boils_at, "°C", shares[0], "%", shares[1], "%", told["source"]]


def test_a_predicted_azeotrope_is_told_as_such(run: Run) -> None:
    page = run("pair", "hexane", "ethyl acetate", "--basis", "predicted").output
    row = next(line for line in page.splitlines() if line.startswith("minimum"))
    assert "predicted" in row and "modified UNIFAC (Dortmund)" in row


def test_two_azeotropes_and_two_layers(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    ask = db.Store.pair

    def pair(store: db.Store, *asked: Any, **how: Any) -> db.Pair:
        judged = ask(store, *asked, **how)
        assert judged.azeotrope is not None
        return replace(judged, azeotropes=(judged.azeotrope, replace(judged.azeotrope, kind="heterogeneous")))

    monkeypatch.setattr(db.Store, "pair", pair)
    page = run("pair", "hexane", "ethyl acetate").output
    assert "Azeotropes, with the share of hexane" in page
    assert "condenses to two liquid layers" in page


def test_a_pair_without_an_azeotrope_has_no_block_for_it(run: Run) -> None:
    assert "with the share of" not in run("pair", "hexane", "toluene").output


def test_the_command_writes_the_picture_and_says_where(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "pair.svg"
    target.write_text("old")
    result = run("pair", "hexane", "ethyl acetate", "--at", "101 kPa", "--plot", str(target))
    assert result.exit_code == 0, result.output
    assert f"The boiling-point diagram is drawn in {target}.\n" in result.stdout
    assert ElementTree.parse(target).getroot()[0].text == "hexane and ethyl acetate at 101 kPa (757.6 mmHg)"
    assert "Cautions. " in described(target) and "azeotrope, measured" in described(target)
    assert list(tmp_path.iterdir()) == [target]


def test_the_object_tells_the_path_only_where_one_was_asked_for(answer: Answer, tmp_path: Path) -> None:
    target = tmp_path / "pair.svg"
    assert answer("pair", "hexane", "ethyl acetate", "--plot", str(target))["plot"] == str(target)
    assert target.exists()
    assert "plot" not in answer("pair", "hexane", "ethyl acetate")


def test_what_was_measured_is_left_out_when_it_was_so_asked(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "pair.svg"
    assert run("pair", "hexane", "ethyl acetate", "--basis", "predicted", "--plot", str(target)).exit_code == 0
    assert "azeotrope, predicted" in described(target) and "azeotrope, measured" not in described(target)


@pytest.mark.parametrize("name", ["pair.png", "pair", "missing/pair.svg"])
def test_a_file_that_cannot_be_drawn(error: Callable[..., Any], tmp_path: Path, name: str) -> None:
    told, status = error("pair", "hexane", "ethyl acetate", "--plot", str(tmp_path / name))
    assert (told["kind"], status) == ("usage", 2)
    assert list(tmp_path.iterdir()) == []


def test_where_nothing_can_be_predicted_the_old_picture_stays(error: Callable[..., Any], tmp_path: Path) -> None:
    target = tmp_path / "pair.svg"
    target.write_text("old")
    told, status = error("pair", "hexane", "butan-2-one", "--plot", str(target))
    assert (told["kind"], status) == ("no_value", 1)
    assert target.read_text() == "old"
