"""No name, title or file can give a terminal orders, or be a formula in a spreadsheet."""

import csv
import json
import os
import stat
from contextlib import closing
from datetime import UTC, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar
from PIL import Image
from pypdf import PdfReader
from sqlalchemy import text

from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import (
    checklists,
    clients,
    commissions,
    corrections,
    finishing,
    holding,
    photos,
    references,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import backups
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import days_off, settings
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.desk.time import past_import, planned_sessions
from burnplan.desk.wood import blanks, hazards, ladders, own_species
from burnplan.ledger.models import Record
from burnplan.terminal_safe import of_shells
from tests import books
from tests.conftest import FixedClock
from tests.fuzz.targets import run_program, unseen
from tests.started import started

EVIL = "=1+1\x1b]0;own\x07\x1b[2J\r\u202egnp\u2066\u200f\udcff\x9b31m\x00 Fox"
# A wood's name has no characters that mean something to a shell.
WOOD = "".join(letter for letter in EVIL[:40] if not of_shells(letter))


@pytest.fixture
def evil(studio: Studio, clock: FixedClock, photo: Path, tmp_path: Path) -> Studio:
    """A book into which control characters were written wherever text can be."""
    settings.save(
        studio,
        settings.parsed(
            settings.parsed(studio_settings.Settings(), "name", EVIL), "address", f"{EVIL}; {EVIL}"
        ),
    )
    details = clients.ClientDetails(
        email=f"a@{EVIL}", phone=EVIL, address=f"{EVIL}\n{EVIL}", note=EVIL
    )
    clients.add(studio, EVIL, details)
    own_species.add(
        studio,
        own_species.NewSpecies(
            name=WOOD, botanical=EVIL, resinous=EVIL, irritant=EVIL, source=EVIL, bare=70
        ),
    )
    blanks.add(
        studio,
        blanks.NewBlank(
            species=WOOD, size="30x20cm", cost="8", supplier=EVIL, location=EVIL, note=EVIL
        ),
    )
    hazards.note(studio, "B-1", ["reclaimed"], EVIL)
    name = clients.everyone(studio)[0].name
    wishes = Wishes(title=EVIL, client=name, species=WOOD, size="30x20cm", note=EVIL)
    commissions.add(studio, wishes)
    holding.hold(studio, "B-1", "C-1", override=EVIL)
    named = tmp_path / f"{EVIL.replace(chr(0), '')}.png"
    named.write_bytes(photo.read_bytes())
    references.add(studio, "C-1", named)
    photos.add(studio, "C-1", named, note=EVIL)
    discount = {"discount": "1", "discount_reason": EVIL}
    quotes.issue(studio, "C-1", quotes.QuoteRequest(note=EVIL, price="100"))
    quotes.issue(studio, "C-1", quotes.QuoteRequest(note=EVIL, **discount))
    accepting.accept(studio, "C-1")
    payments.take(studio, "C-1", "1", "deposit", method=EVIL, note=EVIL)
    checklists.add(studio, "C-1", EVIL, "burn")
    checklists.skip(studio, "C-1", "2", EVIL)
    sessions.log(studio, "C-1", timedelta(hours=1), sessions.Doing(tip=EVIL, heat=EVIL, note=EVIL))
    corrections.correct(studio, 1, corrections.Correction(zone=1, tip=EVIL), EVIL)
    planned_sessions.add(
        studio, "C-1", clock.now + timedelta(days=1), timedelta(hours=2), note=EVIL
    )
    days_off.add(studio, studio.today(), None, EVIL)
    finishing.plan(studio, "C-1", EVIL, coats=2, dry=timedelta(hours=2))
    ladders.add(
        studio,
        ladders.NewLadder(species="basswood", tip=EVIL, heat=[2, 4], lightness=[70, 30], note=EVIL),
    )
    table = tmp_path / f"{EVIL.replace(chr(0), '')}.csv"
    title = EVIL.replace(chr(0xDCFF), "")
    cells = f'title,width_mm,height_mm,species\n"{title}",100,100,{WOOD[3:9]}\n'
    table.write_text(cells, encoding="utf-8", newline="")
    past_import.bring_in(studio, table)
    return studio


@pytest.mark.long
def test_no_such_character_comes_into_the_book(evil: Studio) -> None:
    with evil.reading() as book:
        for table in Record.metadata.sorted_tables:
            for row in book.execute(text(f"SELECT * FROM {table.name}")):  # noqa: S608
                for name, value in zip(row._fields, row, strict=True):
                    said = (
                        json.dumps(json.loads(value), ensure_ascii=False)
                        if name in ("changes", "plan", "hours", "layout", "thresholds")
                        and isinstance(value, str)
                        else str(value)
                    )
                    assert not unseen(said), (table.name, name, said)


# What is shown, of everything, and in JSON too.
SHOWN = (
    "jobs", "commission list --all", "commission show 1", "client list",
    "blank list --all", "blank show 1", "blank species", "ladder list", "ladder show 1",
    "reference show 1", "quote show 1", "quote list 1", "payment list", "step list 1",
    "session list --replaced", "session planned", "photo list", "finish show 1", "days-off list",
    "history", "pace", "promise", "calendar", "earnings", "settings",
)  # fmt: skip
LETTERS = ("quote print 1 --text", "payment invoice 1 --text", "payment receipt 1 --text")


def _hears(studio: Studio, *arguments: str) -> str:
    """Run a command that has to do it, and check that no terminal is given orders."""
    code, out, err = run_program(studio, list(arguments))
    assert code == 0, err
    assert not unseen(out), (arguments, unseen(out))
    assert not unseen(err), (arguments, unseen(err))
    return out


@pytest.mark.long
def test_no_command_shows_such_a_character(evil: Studio) -> None:
    for line in SHOWN:
        assert "Fox" in _hears(evil, *line.split()) + "Fox" * (line in NAMELESS)
        json.loads(_hears(evil, *line.split(), "--json"))
    for line in LETTERS:
        assert "Fox" in _hears(evil, *line.split())
    assert "Fox" in _hears(evil, "client", "show", clients.everyone(evil)[0].name)


# These show no name.
NAMELESS = ("pace", "blank species", "earnings", "quote show 1", "quote list 1", "session planned")


@pytest.mark.long
def test_nor_does_what_was_typed_wrong(evil: Studio) -> None:
    for arguments in (
        ["commission", "show", EVIL], ["blank", "show", EVIL], [EVIL], ["jobs", f"--{EVIL}"],
        ["client", "show", EVIL], ["estimate", EVIL, "--size", "20x20cm"], ["ladder", "show", EVIL],
        ["settings", "currency", EVIL], ["past", "import", EVIL], ["restore", EVIL, "--yes"],
    ):  # fmt: skip
        code, out, err = run_program(evil, arguments)
        assert code == 2, (arguments, code, err)
        assert not unseen(out + err), (arguments, unseen(out + err))
        assert err.count("\n") == 1


@pytest.mark.long
def test_no_such_character_comes_into_what_is_written(evil: Studio, tmp_path: Path) -> None:
    into = tmp_path / "written"
    into.mkdir()
    for arguments in (
        ["quote", "print", "1", "--into", str(into), "--remark", EVIL],
        ["payment", "invoice", "1", "--into", str(into)],
        ["payment", "receipt", "1", "--into", str(into)],
        ["job-sheet", "1", str(into / "job.pdf")],
        ["week", str(into / "week.pdf")],
        ["price-list", "20x20cm", "--save", str(into / "prices.pdf")],
        ["reference", "sheet", "1", "--into", str(into)],
        ["calendar", str(into / "burnplan.ics")],
        ["jobs", "--csv", str(into / "jobs.csv")],
        ["past", "export", str(into / "past.csv")],
        ["export", str(into / "all")],
    ):
        _hears(evil, *arguments)
    letters = list(into.glob("*.pdf"))
    assert len(letters) >= 7
    for path in letters:
        document = PdfReader(path)
        assert not unseen("".join(page.extract_text() for page in document.pages)), path.name
        assert not unseen(str(document.metadata))
    calendar = (into / "burnplan.ics").read_text("utf-8")
    assert not unseen(calendar.replace("\r\n", "\n"))
    events = Calendar.from_ical(calendar).walk("VEVENT")
    assert any("Fox" in str(event["summary"]) for event in events)
    tables = [*into.glob("*.csv"), *into.glob("all/tables/*.csv")]
    assert len(tables) > 10
    began = 0
    for path in tables:
        for row in csv.reader(path.read_text("utf-8").splitlines()):
            for cell in row:
                assert not unseen(cell), (path.name, cell)
                assert not cell.startswith(("=", "+", "@", "\t", "\r")), (path.name, cell)
                # A number below zero is no formula.
                assert not cell.startswith("-") or float(cell) < 0, (path.name, cell)
                began += cell.startswith("'=1+1")
    assert began > 5


@pytest.mark.long
def test_a_name_too_long_is_said(evil: Studio) -> None:
    for arguments in (["export", f"{'a' * 300}.zip"], ["backup", f"{'a' * 300}.zip"]):
        code, _, err = run_program(evil, arguments)
        assert code == 1
        assert "File name too long" in err
        assert err.count("\n") == 1


def test_a_broken_photo_is_refused_in_one_line(tmp_path: Path) -> None:
    Image.new("RGB", (40, 30)).save(tmp_path / "odd.tiff")
    whole = (tmp_path / "odd.tiff").read_bytes()
    # Tag 277, samples per pixel (TIFF 6.0, section 8): 23,551 of them.
    said = b"\x15\x01\x03\x00\x01\x00\x00\x00\x03\x00"
    wrong = b"\x15\x01\x03\x00\x01\x00\x00\x00\xff\x5b"
    assert whole.count(said) == 1
    (tmp_path / "odd.tiff").write_bytes(whole.replace(said, wrong))
    command = ["estimate", "odd.tiff", "--size", "20x20cm"]
    done = started(command, first=lambda: os.chdir(tmp_path))
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1


# --- for its owner only --------------------------------------------------------------------


@pytest.mark.skipif(os.name == "nt", reason="POSIX permissions")
@books.about_files
def test_everything_kept_is_private(tmp_path: Path, photo: Path) -> None:
    with closing(open_studio(tmp_path / "new" / "home", clock=FixedClock(), zone=UTC)) as studio:
        commissions.add(studio, Wishes(title="Fox", size="12x9cm"))
        photos.add(studio, "Fox", photo)
        backups.back_up(studio, studio.home / "kept.zip")
        with studio.reading():
            kept = [studio.home, *studio.home.rglob("*")]
            modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in kept}
            folders = {path.name for path in kept if path.is_dir()}
    named = {"home", "book.db", "book.db-wal", "book.db-shm", "kept.zip", "copies", "originals"}
    assert named <= set(modes)
    for name, mode in modes.items():
        assert mode == (0o700 if name in folders else 0o600), (name, oct(mode))
