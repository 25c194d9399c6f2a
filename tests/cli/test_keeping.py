"""burnplan backup, restore, check, export and import, as typed."""

import json
from pathlib import Path

import pytest

from burnplan.desk.studio.studio import Studio
from tests import books
from tests.cli.conftest import Run
from tests.cli.test_commands import home_with_job, job
from tests.keeping.conftest import every_row
from tests.started import in_a_terminal

__all__ = ["home_with_job", "job"]


@pytest.mark.long
def test_a_book_goes_out_and_comes_back(
    burnplan: Run, job: str, studio: Studio, tmp_path: Path
) -> None:
    before = every_row(studio)
    code, out, _ = burnplan("backup", str(tmp_path / "b.zip"))
    assert code == 0
    assert "Wrote" in out
    assert burnplan("export", str(tmp_path / "e"))[0] == 0
    burnplan("client", "add", "Came later")
    code, _, err = burnplan("restore", str(tmp_path / "b.zip"))
    assert (code, "--yes" in err) == (2, True)
    assert len(every_row(studio)["client"]) == 2
    code, out, err = burnplan("restore", str(tmp_path / "b.zip"), "--yes")
    assert code == 0
    assert "The book is now" in out
    assert f"-before-restore.{'zip' if books.SERVER else 'db'}\n" in err
    assert every_row(studio) == before
    code, _, err = burnplan("import", str(tmp_path / "e"))
    assert (code, "not empty" in err) == (2, True)
    code, out, _ = burnplan("import", str(tmp_path / "e"), "--replace", "--yes")
    assert code == 0
    assert every_row(studio) == before


def test_going_back_is_told_even_where_nobody_is_asked(
    burnplan: Run, job: str, tmp_path: Path, clock: object
) -> None:
    burnplan("backup", str(tmp_path / "b.zip"))
    clock.forward(hours=3)  # type: ignore[attr-defined]
    burnplan("client", "add", "Came later")
    code, _, err = burnplan("restore", str(tmp_path / "b.zip"), "--yes")
    assert code == 0
    assert "newer than the other" in err


def test_an_import_into_an_empty_book_asks_nothing(
    burnplan: Run, job: str, studio: Studio, tmp_path: Path
) -> None:
    before = every_row(studio)
    burnplan("export", str(tmp_path / "e.zip"))
    studio.close()
    for path in studio.home.glob("book.db*"):
        path.unlink()
    if books.SERVER:
        pytest.skip("a book on a server is not a file to remove")
    assert burnplan("import", str(tmp_path / "e.zip"))[0] == 0
    assert every_row(studio) == before


def test_a_backup_without_a_photo_fails_and_names_it(
    burnplan: Run, studio: Studio, photo: Path, tmp_path: Path
) -> None:
    burnplan("commission", "add", "Fox", "--size", "12x9cm")
    assert burnplan("photo", "add", "1", str(photo))[0] == 0
    (kept,) = studio.originals.glob("*/*")
    kept.unlink()
    for words in (("backup", str(tmp_path / "b.zip")), ("export", str(tmp_path / "e"))):
        code, out, _ = burnplan(*words)
        assert code == 1
        assert f"{photo.name}  {kept.name[:12]}" in out
        code, out, _ = burnplan(*words[:1], f"{words[1]}-2.zip", "--json")
        assert code == 1
        assert json.loads(out)["missing_photos"] == [photo.name]
    assert (tmp_path / "b.zip").exists(), "what is there is written all the same"


def test_a_backup_goes_into_a_folder_and_never_over_a_file_unasked(
    burnplan: Run, job: str, tmp_path: Path
) -> None:
    (tmp_path / "stick").mkdir()
    assert burnplan("backup", str(tmp_path / "stick"))[0] == 0
    (made,) = (tmp_path / "stick").iterdir()
    assert made.name == "burnplan-backup-2027-03-17-090000.zip"
    code, _, err = burnplan("backup", str(made))
    assert (code, "--replace" in err) == (2, True)
    assert burnplan("backup", str(made), "--replace")[0] == 0
    found = json.loads(burnplan("backup", str(made), "--replace", "--json")[1])
    assert found["rows"]["commission"] == 1
    for words in (("backup", str(tmp_path / "x.tar")), ("export", str(tmp_path / "stick"))):
        code, out, err = burnplan(*words)
        assert (code, out, err.count("\n")) == (2, "", 1)


def test_check_says_what_is_wrong_and_exits_with_one(
    burnplan: Run, job: str, studio: Studio, tmp_path: Path
) -> None:
    burnplan("backup", str(tmp_path / "b.zip"))
    code, out, _ = burnplan("check")
    assert (code, "sound" in out) == (0, True)
    (photo,) = studio.originals.glob("*/*")
    photo.unlink()
    code, out, _ = burnplan("check")
    assert (code, "missing" in out) == (1, True)
    code, out, _ = burnplan("check", "--json")
    assert code == 1
    assert json.loads(out)["sound"] is False
    code, out, _ = burnplan("check", "--from", str(tmp_path / "b.zip"))
    assert (code, "--repair" in out) == (1, True)
    code, out, _ = burnplan("check", "--repair", "--from", str(tmp_path / "b.zip"))
    assert (code, "repaired" in out) == (0, True)
    assert burnplan("check")[0] == 0


@pytest.mark.parametrize("command", ["backup", "restore", "check", "export", "import"])
def test_each_has_a_schema_of_its_json(burnplan: Run, command: str) -> None:
    words = {"restore": ["x"], "export": ["x"], "import": ["x"]}.get(command, [])
    code, out, _ = burnplan(command, *words, "--json-schema")
    assert code == 0
    assert json.loads(out)["type"] == "object"


MISUSE = [
    ("restore", "no such file.zip"), ("import", "no such file.zip"), ("restore", "."),
    ("check", "--from", "no such file.zip"), ("backup", "no such folder/b.zip"),
    ("export", "no such folder/e"), ("restore",), ("import",), ("export",),
]  # fmt: skip


@pytest.mark.parametrize("words", MISUSE, ids=" ".join)
def test_misuse_is_one_clear_line(burnplan: Run, job: str, words: tuple[str, ...]) -> None:
    code, out, err = burnplan(*words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith("burnplan: ")


@books.about_files
def test_a_person_is_asked_and_may_say_no(
    burnplan: Run, job: str, studio: Studio, tmp_path: Path
) -> None:
    burnplan("backup", str(tmp_path / "b.zip"))
    burnplan("client", "add", "Came later")
    studio.close()
    seen = in_a_terminal(["restore", str(tmp_path / "b.zip")], "n\n")
    assert "aside and use the one with 1 commission" in " ".join(seen.split())
    assert len(every_row(studio)["client"]) == 2
    seen = in_a_terminal(["restore", str(tmp_path / "b.zip")], "y\n")
    assert "The book is now: 1 commission" in seen
    assert len(every_row(studio)["client"]) == 1
