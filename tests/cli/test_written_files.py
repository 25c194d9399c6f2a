"""Nothing is written over unasked: one rule for every command that writes a file."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

import pytest

from burnplan.desk.studio.studio import Studio
from tests import books
from tests.cli.conftest import Run
from tests.cli.test_commands import home_with_job, job
from tests.cli.test_program import EVERY
from tests.conftest import draw_photo
from tests.started import in_a_terminal

__all__ = ["home_with_job", "job"]

# Each command that writes files, as typed, with the files that it writes into a folder;
# and whether it knows an earlier one of the same again, as a table and a backup have no place
# for saying whose they are.
Typed = Callable[[Path], list[str]]
WRITING: dict[str, tuple[Typed, tuple[str, ...], bool]] = {
    "estimate": (
        lambda into: ["estimate", str(_drawn(into)), "--size", "20x15cm", "--save", str(into)],
        ("sepia.png", "wood.png", "zones.png", "trace.png"),
        True,
    ),
    "reference preview": (
        lambda into: ["reference", "preview", "1", "--save", str(into)],
        ("sepia.png", "wood.png", "zones.png", "trace.png", "contact-sheet.png"),
        True,
    ),
    "reference sheet": (
        lambda into: ["reference", "sheet", "1", "--into", str(into)],
        ("C-0001-reference.pdf", "C-0001-values.pdf", "C-0001-trace.pdf", "C-0001-trace.svg"),
        True,
    ),
    "job-sheet": (lambda into: ["job-sheet", "1", str(into / "j.pdf")], ("j.pdf",), True),
    "photo sheet": (lambda into: ["photo", "sheet", "1", str(into / "p.png")], ("p.png",), True),
    "quote print": (
        lambda into: ["quote", "print", "1", "--into", str(into)],
        ("C-0001-quote-1.pdf",),
        True,
    ),
    "payment invoice": (
        lambda into: ["payment", "invoice", "1", "--into", str(into)],
        ("C-0001-invoice.pdf",),
        True,
    ),
    "payment receipt": (
        lambda into: ["payment", "receipt", "1", "--into", str(into)],
        ("C-0001-receipt-1.pdf",),
        True,
    ),
    "price-list": (
        lambda into: ["price-list", "--save", str(into / "l.pdf")],
        ("l.pdf",),
        True,
    ),
    "ladder card": (lambda into: ["ladder", "card", "1", str(into / "c.pdf")], ("c.pdf",), True),
    "calendar": (lambda into: ["calendar", str(into / "c.ics")], ("c.ics",), True),
    "week": (lambda into: ["week", str(into / "w.pdf")], ("w.pdf",), True),
    "jobs": (lambda into: ["jobs", "--csv", str(into / "j.csv")], ("j.csv",), False),
    "past export": (lambda into: ["past", "export", str(into / "p.csv")], ("p.csv",), False),
    "backup": (lambda into: ["backup", str(into / "b.zip")], ("b.zip",), False),
    "export": (lambda into: ["export", str(into / "e.zip")], ("e.zip",), False),
}
# What only reads a file that is named, or makes a folder that must not be there.
READING = {
    "reference add", "reference plan", "photo add", "past import", "restore", "import", "check",
    "blank photo", "blank fit", "ladder add", "demo", "reference compare", "reference together",
}  # fmt: skip
# What needs more than a job with a photo, and writes in tests of its own.
ELSEWHERE = {
    "quote proposal",
    "portfolio write",
    "letter",
    "finish card",
    "photo compare",
    "photo show",
    "blank outline",
}


def _drawn(into: Path) -> Path:
    photo = into.parent / "drawn.png"
    return photo if photo.exists() else draw_photo(photo)


def _long_if_of_a_plan(name: str) -> Any:
    """Return a command as a case: drawing all pictures of a plan takes long."""
    drawing = ("reference preview", "reference sheet", "estimate")
    return pytest.param(name, marks=pytest.mark.long if name in drawing else ())


@pytest.fixture
def furnished(burnplan: Run, job: str, tmp_path: Path) -> Run:
    """A job with a photo, a quote that holds and a payment."""
    for words in (
        ("quote", "issue", job), ("quote", "accept", job), ("payment", "add", job, "100"),
        ("photo", "add", job, str(draw_photo(tmp_path / "p.png"))),
    ):  # fmt: skip
        assert burnplan(*words)[0] == 0
    return burnplan


def _takes_a_file(command: Any) -> bool:
    kinds = (getattr(one, "type_descriptor", None) for one in command.params)
    taken = (getattr(kind, "annotation", None) for kind in kinds)
    return any(Path in (kind, *get_args(kind)) for kind in taken)


def test_every_command_that_takes_a_file_is_known() -> None:
    taking = {" ".join(path) for path, command in EVERY if _takes_a_file(command)}
    assert taking == set(WRITING) | READING | ELSEWHERE
    for path, command in EVERY:
        options = {option for one in command.params for option in one.opts}  # type: ignore[attr-defined]
        if " ".join(path) in {*WRITING, *ELSEWHERE}:
            assert "--replace" in options, path


@pytest.mark.parametrize("name", [_long_if_of_a_plan(name) for name in WRITING])
def test_nothing_is_written_over_unasked(furnished: Run, tmp_path: Path, name: str) -> None:
    typed, files, known_again = WRITING[name]
    into = tmp_path / "out"
    into.mkdir()
    for file in files:
        (into / file).write_bytes(b"the artist's own")
        code, _, err = furnished(*typed(into))
        assert (code, err.count("\n")) == (2, 1), err
        assert f"'{into / file}' is there already" in err
        assert (into / file).read_bytes() == b"the artist's own"
        assert not list(into.glob(".*")), "nothing half written"
        (into / file).unlink()
    for file in files:
        (into / file).write_bytes(b"the artist's own")
    assert furnished(*typed(into), "--replace")[0] == 0
    assert sorted(one.name for one in into.iterdir()) == sorted(files)
    assert all((into / file).read_bytes() != b"the artist's own" for file in files)
    assert furnished(*typed(into))[0] == (0 if known_again else 2)


@pytest.mark.parametrize(
    "name", [_long_if_of_a_plan(name) for name, (*_, known) in WRITING.items() if known]
)
def test_what_was_changed_since_is_not_an_earlier_one(
    furnished: Run, tmp_path: Path, name: str
) -> None:
    typed, files, _ = WRITING[name]
    into = tmp_path / "out"
    into.mkdir()
    assert furnished(*typed(into))[0] == 0
    for file in files:
        path = into / file
        first = path.read_bytes()
        path.write_bytes(_changed_by_another_program(path))
        code, _, err = furnished(*typed(into))
        assert (code, "is there already" in err) == (2, True), file
        path.write_bytes(first)


def _changed_by_another_program(path: Path) -> bytes:
    """Return a file as other programs leave it when somebody draws on it."""
    data = path.read_bytes()
    if path.suffix == ".pdf":  # what is added to a page comes after the end (ISO 32000-1, 7.5.6)
        return data + b"15 0 obj\n<< /Type /Annot >>\nendobj\ntrailer\n<< /Size 16 >>\n%%EOF\n"
    if path.suffix == ".svg":
        return data.replace(b"<svg ", b'<svg\n   version="1.1"\n   ')
    if path.suffix == ".ics":
        return data.replace(b"-//burnplan//burnplan//EN", b"-//another//program//EN")
    return data.replace(b"Software\0burnplan", b"Software\0an image editor")


OTHERS = {
    "job-sheet": ["job-sheet", "2", "{}/j.pdf"],
    "week": ["week", "--next", "{}/w.pdf"],
    "estimate": ["estimate", "{}/../other.png", "--size", "20x15cm", "--save", "{}"],
}


@pytest.mark.parametrize("name", [_long_if_of_a_plan(name) for name in OTHERS])
def test_the_same_of_something_else_is_something_else(
    furnished: Run, tmp_path: Path, name: str
) -> None:
    furnished("commission", "add", "Old barn")
    into = tmp_path / "out"
    into.mkdir()
    draw_photo(tmp_path / "other.png")
    typed, files, _ = WRITING[name]
    assert furnished(*typed(into))[0] == 0
    first = (into / files[0]).read_bytes()
    other = [word.format(into) for word in OTHERS[name]]
    code, _, err = furnished(*other)
    assert (code, "is there already" in err) == (2, True)
    assert (into / files[0]).read_bytes() == first
    assert furnished(*other, "--replace")[0] == 0


@books.about_files
def test_nothing_of_the_studios_own_is_ever_written_over(
    furnished: Run, studio: Studio, tmp_path: Path
) -> None:
    (tmp_path / "elsewhere").symlink_to(studio.home)
    (tmp_path / "named.csv").symlink_to(studio.home / "book.db")
    (photo,) = studio.originals.glob("*/*")
    (copy,) = (studio.home / "copies").iterdir()
    kept = {path: path.read_bytes() for path in (studio.home / "book.db", photo, copy)}
    mine = studio.home / "notes.csv"
    mine.write_text("mine")
    for target in (
        *kept, mine, studio.home / "book.db-wal", studio.home / "copies" / "new.csv",
        tmp_path / "elsewhere" / "book.db", tmp_path / "named.csv",
        tmp_path / "out" / ".." / "home" / "book.db",
    ):  # fmt: skip
        (tmp_path / "out").mkdir(exist_ok=True)
        code, _, err = furnished("past", "export", str(target), "--replace")
        assert (code, err.count("\n")) == (2, 1)
        assert "burnplan keeps its own" in err
    assert {path: path.read_bytes() for path in kept} == kept
    assert mine.read_text() == "mine"
    # Beside them there is room.
    beside = studio.home / ".." / "jobs.csv"
    assert furnished("past", "export", str(beside), "--replace")[0] == 0
    assert furnished("past", "export", str(studio.home / "new.csv"))[0] == 0


@pytest.mark.skipif(os.name == "nt", reason="POSIX special files")
def test_what_is_no_file_is_left_alone(furnished: Run, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    code, _, err = furnished("past", "export", str(tmp_path / "pipe.csv"), "--replace")
    assert (code, "is not a file" in err) == (2, True)
    assert (tmp_path / "pipe.csv").is_fifo()
    (tmp_path / "nowhere.csv").symlink_to(tmp_path / "none" / "x.csv")
    assert furnished("past", "export", str(tmp_path / "nowhere.csv"))[0] == 2
    assert (tmp_path / "nowhere.csv").is_symlink()


@pytest.mark.long
@books.about_files
def test_a_person_is_asked(furnished: Run, studio: Studio, tmp_path: Path) -> None:
    assert furnished("settings", "units=metric")[0] == 0
    studio.close()
    mine = tmp_path / "w.pdf"
    mine.write_text("mine")
    seen = in_a_terminal(["week", str(mine)], "n\n")
    assert "is there already. Replace it?" in " ".join(seen.split())
    assert mine.read_text() == "mine"
    seen = in_a_terminal(["week", str(mine)], "y\n")
    assert "Wrote" in seen
    assert mine.read_bytes().startswith(b"%PDF")
    seen = in_a_terminal(["week", str(mine)], "")
    assert "Replace it?" not in seen
    # Asked over a bar that shows progress, too.
    (tmp_path / "b.zip").write_text("mine")
    seen = in_a_terminal(["backup", str(tmp_path / "b.zip")], "y\n")
    assert "Replace it?" in seen
    assert (tmp_path / "b.zip").read_bytes().startswith(b"PK")
