"""Woods by the names of the trade: asked about in a terminal, else the commonest, and said."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import own_species
from burnplan.ledger.models import Blank, Commission, OwnSpecies, PastJob, ToneLadder
from tests.cases import quick_first
from tests.cli.conftest import Run

PATHS = {
    "estimate": ("estimate", "--size", "20x30cm", "--dark", "3", "--species", "{wood}"),
    "commission add": ("commission", "add", "Fox", "--species", "{wood}"),
    "commission edit": ("commission", "edit", "C-0001", "--species", "{wood}"),
    "blank add": ("blank", "add", "{wood}", "20x30cm"),
    "blank edit": ("blank", "edit", "B-0001", "--species", "{wood}"),
    "ladder add": (
        "ladder", "add", "{wood}", "--tip", "x", "--heat", "2,3,4", "--lightness", "70,60,40",
    ),
    "price-list": ("price-list", "20x30cm", "--species", "{wood}"),
    "past add": ("past", "add", "Owl", "--size", "20x30cm", "--hours", "4", "--species", "{wood}"),
}  # fmt: skip
SAID = {
    "pine": "'pine' is taken for eastern-white-pine, the commonest; if it is another, name that",
    "birch": "'birch' is taken for paper-birch, the commonest; if it is yellow-birch, name that",
}


@pytest.fixture
def typed(burnplan: Run) -> Run:
    """The command line of a studio that has a job and a blank."""
    assert burnplan("settings", "name=Bench")[0] == 0
    assert burnplan("commission", "add", "Barn")[0] == 0
    assert burnplan("blank", "add", "cherry", "10x10cm")[0] == 0
    return burnplan


def _words(path: str, wood: str) -> list[str]:
    return [word.format(wood=wood) for word in PATHS[path]]


def _kept(studio: Studio) -> set[str | None]:
    """Return the species of every row that has one."""
    with studio.reading() as book:
        tables = (Blank, Commission, PastJob, ToneLadder)
        return {row.species for table in tables for row in book.query(table)}  # type: ignore[attr-defined]


@quick_first("wood", SAID)
@pytest.mark.parametrize("path", PATHS)
def test_in_a_script_the_commonest_is_taken_and_that_is_said(
    typed: Run, studio: Studio, path: str, wood: str
) -> None:
    code, out, err = typed(*_words(path, wood))
    assert (code, SAID[wood] in err) == (0, True), err
    assert wood not in _kept(studio)
    if path in ("estimate", "price-list"):
        assert own_species.meant(studio, wood).name.lower() in out
    else:
        assert own_species.meant(studio, wood).key in _kept(studio)


@quick_first("answer", ["yellow-birch", "2"])
@pytest.mark.parametrize("path", PATHS)
def test_in_a_terminal_it_is_asked_which(
    typed: Run, studio: Studio, path: str, answer: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[str, object]] = []
    answers = iter(["birch", "3", answer])

    def prompt(question: str, default: object = None, **_: object) -> str:
        asked.append((question, default))
        return next(answers)

    monkeypatch.setattr("burnplan.show.console.interactive", lambda: True)
    monkeypatch.setattr("typer.prompt", prompt)
    code, out, err = typed(*_words(path, "Birch"))
    assert code == 0, err
    assert asked == [("Which birch: paper-birch or yellow-birch", "paper-birch")] * 3
    assert "'birch' is several woods" in err
    assert "'3' is none of them" in err
    assert "is taken for" not in err
    assert "yellow-birch" in _kept(studio) or "yellow birch" in out


@pytest.mark.long
def test_what_would_be_in_another_wood_is_asked_too(
    typed: Run, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert (
        typed("commission", "edit", "C-0001", "--size", "12x9cm", "--species", "basswood")[0] == 0
    )
    assert typed("reference", "add", "C-0001", str(photo))[0] == 0
    line = ("whatif", "C-0001", "--species", "birch")
    code, out, err = typed(*line)
    assert (code, SAID["birch"] in err, "paper birch" in out) == (0, True, True), (out, err)
    asked: list[str] = []

    def prompt(question: str, **_: object) -> str:
        asked.append(question)
        return "yellow-birch"

    monkeypatch.setattr("burnplan.show.console.interactive", lambda: True)
    monkeypatch.setattr("typer.prompt", prompt)
    code, out, err = typed(*line)
    assert asked == ["Which birch: paper-birch or yellow-birch"]
    assert (code, "yellow birch" in out, "is taken for" in err) == (0, True, False), (out, err)


def test_a_wood_of_ones_own_by_that_name_is_meant(typed: Run, studio: Studio) -> None:
    """A book from before may have it."""
    with studio.writing("x") as (book, _):
        row = OwnSpecies(key="pine", name="Pine", hardness=870, added_at=datetime.now(UTC))
        book.add(row)
    code, _, err = typed("blank", "add", "pine", "20x30cm")
    assert (code, "is taken for" in err) == (0, False)
    assert own_species.meant(studio, "Pine").hardness_lbf == 870
    assert "pine" in _kept(studio)


def test_what_is_on_record_by_such_a_name_is_shown_as_it_was(typed: Run, studio: Studio) -> None:
    with studio.writing("x") as (book, _):
        book.get_one(Commission, 1).species = "birch"
    assert "Birch" in typed("commission", "show", "1")[1]
    assert "Paper" not in typed("commission", "show", "1")[1]
