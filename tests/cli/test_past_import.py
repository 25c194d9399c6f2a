"""past import of a spreadsheet: what it shows, what it asks, and how it ends."""

import json
from collections.abc import Sequence
from pathlib import Path

import pytest
from sqlalchemy import select

from burnplan.cli import asking
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.ledger.models import PastJob
from burnplan.show import console
from burnplan.units import UnitSystem
from tests.cli.conftest import Run
from tests.conftest import new_terminal

SHEET = (
    "Piece,Finished,Size,Wood,Hours total,Price,Client\n"
    "Red fox,3/14/2025,11x14 in,cherry,12.5,$350.00,Ann\n"
    "Elk,soon,8x10 in,cherry,7,$250.00,Bo\n"
)
DOUBTFUL = (
    "Piece,Finished,Size,Total,Wood\nFox,3/4/2025,11x14,35,Baswood\nOwl,1/2/2025,8x10,20,cherry\n"
)


@pytest.fixture(autouse=True)
def _in_inches(studio: Studio) -> None:
    settings.save(studio, Settings(units=UnitSystem.IMPERIAL, currency="USD", locale="en_US"))


def _kept(studio: Studio) -> Sequence[PastJob]:
    with studio.reading() as book:
        return book.scalars(select(PastJob).order_by(PastJob.id)).all()


def _file(folder: Path, text: str) -> str:
    (folder / "jobs.csv").write_text(text, "utf-8")
    return str(folder / "jobs.csv")


def test_a_look_shows_each_column_and_writes_nothing(
    burnplan: Run, studio: Studio, tmp_path: Path
) -> None:
    file = _file(tmp_path, SHEET)
    code, out, _ = burnplan("past", "import", file, "--look")
    assert code == 1
    rows = [" ".join(line.split()) for line in out.splitlines()]
    assert "2 rows parted by commas, headings in row 1, letters in UTF-8" in rows
    assert "B Finished day it was finished, month first 3/14/2025 Fri 14 Mar 2025" in rows
    assert "C Size width and height, in 11x14 in 11 × 14 in" in rows
    assert "E Hours total hours in all 12.5 12.5 h" in rows
    assert "F Price price $350.00 $350.00" in rows
    assert "G Client left aside Ann" in rows
    assert any(row.startswith("3 Finished 'soon' is not a day") for row in rows)
    assert "Would bring in 1 of 2 jobs" in rows
    assert not _kept(studio)
    assert burnplan("past", "import", file, "--dry-run")[1] == out


def test_rows_left_out_end_in_one_and_mended_ones_come_later(
    burnplan: Run, studio: Studio, tmp_path: Path
) -> None:
    file = _file(tmp_path, SHEET)
    code, out, _ = burnplan("past", "import", file)
    assert code == 1
    assert "Brought in 1 of 2 jobs" in out
    assert [one.title for one in _kept(studio)] == ["Red fox"]
    _file(tmp_path, SHEET.replace("soon", "3/20/2025"))
    code, out, _ = burnplan("past", "import", file)
    assert (code, "Brought in 1 of 2 jobs; 1 was on record already" in out) == (0, True)
    _file(tmp_path, SHEET.replace("soon", "3/20/2025") + SHEET.splitlines()[1] + "\n")
    _, out, _ = burnplan("past", "import", file)
    assert "2 were on record already; 1 was the same in all columns as a row above" in out
    assert burnplan("undo")[0] == 0
    assert len(_kept(studio)) == 1


def test_a_table_of_which_no_row_can_be_read_ends_in_two(
    burnplan: Run, studio: Studio, tmp_path: Path
) -> None:
    file = _file(tmp_path, "Title,Size,Hours\n,8x10,5\n,11x14,7\n")
    code, out, _ = burnplan("past", "import", file)
    assert (code, "Brought in 0 of 2 jobs" in out, list(_kept(studio))) == (2, True, [])


def test_a_column_that_is_not_what_its_heading_says_is_named(
    burnplan: Run, studio: Studio, tmp_path: Path
) -> None:
    file = _file(tmp_path, "Title,Finished,Size\nFox,in spring,8x10\nOwl,soon,11x14\n")
    code, _, err = burnplan("past", "import", file)
    assert code == 0
    assert "'Finished' is left aside: cells like 'in spring' are no day it was finished" in err
    assert [one.finished_on for one in _kept(studio)] == [None, None]


def test_of_two_columns_with_one_heading_it_is_said_which_by_letter(
    burnplan: Run, studio: Studio, tmp_path: Path
) -> None:
    file = _file(tmp_path, "Title,Size,Hours,Hours\nFox,8x10,8,9\n")
    code, _, err = burnplan("past", "import", file)
    assert (code, "C or D could be hours in all" in err) == (2, True)
    assert "--columns C=total_h,D=aside" in err
    assert burnplan("past", "import", file, "--columns", "D=total_h")[0] == 0
    assert _kept(studio)[0].total_h == 9


def test_the_program_s_own_columns_are_brought_in_without_ado(
    burnplan: Run, studio: Studio, tmp_path: Path
) -> None:
    burnplan("past", "import", _file(tmp_path, SHEET))
    out = tmp_path / "out.csv"
    assert burnplan("past", "export", str(out))[0] == 0
    burnplan("undo")
    code, said, err = burnplan("past", "import", str(out))
    assert (code, said.strip(), err) == (0, "Brought in 1 of 1 jobs", "")
    assert _kept(studio)[0].width_mm == pytest.approx(11 * 25.4)


def test_a_script_is_told_how_to_say_what_a_column_is(
    burnplan: Run, studio: Studio, tmp_path: Path
) -> None:
    file = _file(tmp_path, DOUBTFUL)
    code, _, err = burnplan("past", "import", file)
    assert (code, len(err.splitlines())) == (2, 1)
    assert "'Total' could be price or hours in all" in err
    assert "--columns Total=price" in err
    told = ("--columns", "Total=total_h:h,Finished=finished_on:day-first")
    code, _, err = burnplan("past", "import", file, *told)
    assert code == 0
    assert "'Baswood' is not in the species table. Did you mean basswood?" in err
    fox, _ = _kept(studio)
    assert (str(fox.finished_on), fox.total_h, fox.price) == ("2025-04-03", 35, None)
    for columns, words in (
        ("Total=cost", "'cost' is nothing that a column can be"),
        ("Sum=price", "There is no column 'Sum'"),
        ("Total", "'Total' does not say what a column is"),
        ("Total=price:in", "'in' is no way to read price"),
        ("Piece=title,Wood=title", "Two columns cannot both be title"),
    ):
        code, _, err = burnplan("past", "import", file, "--columns", columns)
        assert (code, words in err) == (2, True), columns


def test_a_person_is_asked_what_could_be_two_things(
    burnplan: Run, studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(console, "interactive", lambda: True)
    # what Total is; the order of days; the unit; the wood
    typed = iter(["2", "7", "2", "3", "1"])
    monkeypatch.setattr("typer.prompt", lambda *_args, **_more: next(typed))
    answers = iter([False, True])
    monkeypatch.setattr("burnplan.cli.asking.agreed", lambda *_args, **_more: next(answers))
    file = _file(tmp_path, DOUBTFUL)
    code, _, err = burnplan("past", "import", file)
    assert code == 2
    assert "'7' is not one of them" in err
    assert "Nothing was brought in" in err
    assert not _kept(studio)
    typed = iter(["2", "2", "3", "1"])
    code, _, err = burnplan("past", "import", file)
    assert code == 0
    assert "Lengths like 11x14 in 'Size':" in err
    fox, owl = _kept(studio)
    assert (fox.total_h, owl.total_h) == (35, 20)
    assert str(fox.finished_on) == "2025-04-03"
    assert fox.width_mm == pytest.approx(110)
    assert fox.species == "basswood"
    assert next(typed, None) is None


def test_an_answer_that_is_neither_yes_nor_no_is_asked_for_again(
    burnplan: Run, studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(console, "interactive", lambda: True)
    # Which column Title is, by its words; then whether it is meant so.
    file = _file(tmp_path, "Whose,Which,Big\nAnn,Fox,11x14 in\n")
    typed = iter(["which", "ja", "perhaps", "Yes"])
    monkeypatch.setattr("typer.prompt", lambda *_args, **_more: next(typed))
    code, _, err = burnplan("past", "import", file)
    assert code == 0
    assert "'ja' is neither yes nor no. Answer y or n." in err
    assert "'perhaps' is neither yes nor no" in err
    assert [one.title for one in _kept(studio)] == ["Fox"]
    typed = iter(["which", "n"])
    assert burnplan("past", "import", file)[0] == 2


def test_a_long_question_is_not_broken_within_a_word(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    new_terminal()
    asked: list[str] = []

    def prompt(label: str, *_args: object, **_more: object) -> str:
        asked.append(label)
        return "y"

    monkeypatch.setattr("typer.prompt", prompt)
    question = "Were they done, and their hours all logged? Then they are ticked"
    assert asking.agreed(question)
    assert max(map(len, asked[0].splitlines())) <= 35
    assert asked[0].split() == [*question.split(), "[y/N]"]


def test_what_is_missing_can_be_chosen(
    burnplan: Run, studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = _file(tmp_path, "Whose,Which,Big\nAnn,Fox,11x14 in\nBo,Owl,8x10 in\n")
    assert "no column title. Say which it is: --columns Whose=title" in burnplan(
        "past", "import", file
    )[2].replace("\n", " ")
    monkeypatch.setattr(console, "interactive", lambda: True)
    typed = iter(["2"])
    monkeypatch.setattr("typer.prompt", lambda *_args, **_more: next(typed))
    monkeypatch.setattr("burnplan.cli.asking.agreed", lambda *_args, **_more: True)
    assert burnplan("past", "import", file)[0] == 0
    assert [one.title for one in _kept(studio)] == ["Fox", "Owl"]


def test_json_has_the_reading_too(burnplan: Run, tmp_path: Path) -> None:
    code, out, _ = burnplan("past", "import", _file(tmp_path, SHEET), "--look", "--json")
    view = json.loads(out)
    assert (code, view["read"], view["added"], view["left"]) == (1, 2, 1, 1)
    assert [one["meaning"] for one in view["columns"]] == [
        "title", "finished_on", "size", "species", "total_h", "price", "aside",
    ]  # fmt: skip
    assert view["faults"][0] == {
        "line": 3,
        "column": "Finished",
        "problem": "'soon' is not a day with its year",
    }
