"""What people type: sizes in the studio's own unit, a discount in per cent, the plain C locale."""

import json
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from burnplan.cli import reading
from burnplan.desk.derived import studio_settings
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs import commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.ledger.models import (
    Blank,
    BurnSession,
    Commission,
    DayOff,
    MoistureReading,
    PastJob,
    Payment,
    ProgressPhoto,
    Quote,
    ToneLadder,
)
from burnplan.units import UnitSystem, parse_size
from tests.cases import quick_first
from tests.cli.conftest import Run
from tests.conftest import FixedClock


def crossed(commands: Iterable[str], said: Iterable[str]) -> list[Any]:
    """Return each pair of both: each command has its turn, then (long) two more words."""
    commands, said = list(commands), list(said)
    made = []
    for turn, command in enumerate(commands):
        for later in range(len(said)):
            words = said[(turn + later) % len(said)]
            mark = pytest.mark.long if later <= 2 else pytest.mark.whole
            made.append(pytest.param(command, words, marks=mark if later else ()))
    return made


@pytest.mark.parametrize(
    ("units", "size", "thick"),
    [(UnitSystem.IMPERIAL, (279.4, 355.6), 12.7), (UnitSystem.METRIC, (110, 140), 0.5)],
)
def test_a_bare_number_has_the_unit_of_the_studio(
    burnplan: Run, studio: Studio, units: UnitSystem, size: tuple[float, float], thick: float
) -> None:
    settings.save(studio, Settings(units=units))
    assert burnplan("commission", "add", "Fox", "--size", "11x14")[0] == 0
    assert commissions.show(studio, "Fox").size_mm == pytest.approx(size)
    assert burnplan("blank", "add", "basswood", "11x14", "--thickness", "1/2")[0] == 0
    blank = blanks.show(studio, "B-1")
    assert blank.size_mm == pytest.approx(size)
    assert blank.thickness_mm == pytest.approx(thick)
    assert burnplan("commission", "edit", "C-1", "--size", "round 10")[0] == 0
    assert burnplan("price-list", "8x10")[0] == 0


def test_a_discount_in_per_cent(burnplan: Run, studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    plain = quotes.draft(studio, "Fox", quotes.QuoteRequest(hours=10)).total
    issue = ("quote", "issue", "C-1", "--hours", "10", "--because", "friend", "--discount")
    assert burnplan(*issue, "20%")[0] == 0
    assert float(quotes.show(studio, "Fox").total) == pytest.approx(float(plain) * 0.8)
    assert burnplan(*issue, "120%")[0] == 2


@pytest.mark.parametrize("named", ["C", "POSIX", "C.UTF-8"])
def test_the_plain_locale_writes_money_as_people_do(
    named: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LC_ALL", named)
    assert studio_settings.first_guess().locale == "en_US"
    assert reading.guessed() == studio_settings.first_guess().wording


# --- each form on every command that takes it ----------------------------------------------

# The studio's day is Wednesday, 17 March 2027; what was is before it, what will be after.
WAS = {
    "3/14": "2027-03-14",
    "3/14/27": "2027-03-14",
    "12/20": "2026-12-20",
    "last friday": "2027-03-12",
    "friday": "2027-03-12",
    "3 days ago": "2027-03-14",
    "march 14": "2027-03-14",
    "yesterday": "2027-03-16",
}
WILL_BE = {
    "12/20": "2027-12-20",
    "12/30/27": "2027-12-30",
    "friday": "2027-03-19",
    "in 3 weeks": "2027-04-07",
    "2027-05-01": "2027-05-01",
}
MOMENTS = {
    "8:30pm": "",  # still to come
    "8:30am": "2027-03-17T08:30",
    "yesterday 8:30pm": "2027-03-16T20:30",
    "monday 9:30": "2027-03-15T09:30",
    "wednesday 9:30": "2027-03-10T09:30",  # today's is still to come
    "last friday 9am": "2027-03-12T09:00",
    "3/14 18:30": "2027-03-14T18:30",
    "3 days ago 10:00": "2027-03-14T10:00",
}


@pytest.fixture
def inches(burnplan: Run, studio: Studio, clock: FixedClock, photo: Path) -> Run:
    """A studio in the United States with a job that has a reference, and a blank of 2026."""
    settings.save(studio, Settings(units=UnitSystem.IMPERIAL, currency="USD", locale="en_US"))
    today = clock.now
    clock.now = today.replace(year=2026, month=12, day=1)
    commissions.add(studio, Wishes(title="Fox", client="Mara", size="11x14", species="cherry"))
    references.add(studio, "Fox", photo, zones=3)
    quotes.issue(studio, "Fox", quotes.QuoteRequest(price="300"), valid_days=200)
    blanks.add(studio, blanks.NewBlank(species="cherry", size="8x10"))
    clock.now = today
    return burnplan


DAYS_PAST: dict[str, tuple[str, ...]] = {
    "quote accept": ("quote", "accept", "C-0001", "--on"),
    "payment add": ("payment", "add", "C-0001", "20", "--on"),
    "commission deliver": ("commission", "deliver", "C-0001", "--yes", "--on"),
    "photo add": ("photo", "add", "C-0001", "{photo}", "--on"),
    "past add": ("past", "add", "Owl", "--size", "8x10", "--hours", "5", "--finished"),
    "earnings": ("earnings", "--json", "--since"),
}
DAYS_TO_COME: dict[str, tuple[str, ...]] = {
    "commission add": ("commission", "add", "Owl", "--due"),
    "commission edit": ("commission", "edit", "C-0001", "--due"),
    "days-off add": ("days-off", "add"),
    "jobs": ("jobs", "--json", "--due-until"),
}


def _day_kept(studio: Studio, command: str, out: str) -> str:
    """Return the day that a command took, from where it is kept or said."""
    if command == "earnings":
        return str(json.loads(out)["since"])
    kept: dict[str, Any] = {
        "quote accept": Quote.accepted_on,
        "payment add": Payment.paid_on,
        "commission deliver": Commission.delivered_on,
        "photo add": ProgressPhoto.taken_on,
        "past add": PastJob.finished_on,
        "commission add": Commission.due_on,
        "commission edit": Commission.due_on,
        "days-off add": DayOff.starts_on,
    }
    column = kept[command]
    with studio.reading() as book:
        return str(book.scalar(select(column).order_by(column.class_.id.desc())))


@pytest.mark.parametrize(("command", "said"), crossed(DAYS_PAST, WAS))
def test_a_day_that_was(inches: Run, studio: Studio, photo: Path, command: str, said: str) -> None:
    words = [word.format(photo=photo) for word in DAYS_PAST[command]]
    code, out, err = inches(*words, said)
    assert code == 0, err
    assert _day_kept(studio, command, out) == WAS[said]


@pytest.mark.parametrize(("command", "said"), crossed(DAYS_TO_COME, WILL_BE))
def test_a_day_to_come(inches: Run, studio: Studio, command: str, said: str) -> None:
    inches("commission", "edit", "C-0001", "--due", WILL_BE[said])
    code, out, err = inches(*DAYS_TO_COME[command], said)
    assert code == 0, err
    if command == "jobs":  # those due until that day, it included
        assert [job["due"] for job in json.loads(out)] == [WILL_BE[said]]
    else:
        assert _day_kept(studio, command, out) == WILL_BE[said]


@pytest.mark.parametrize(
    ("command", "said"), crossed(["enter", "correct", "end", "moisture"], MOMENTS)
)
def test_a_moment_that_was(
    inches: Run, studio: Studio, clock: FixedClock, command: str, said: str
) -> None:
    if command == "correct":
        inches("session", "enter", "C-0001", "30min", "--ended", "yesterday 7:00")
    if command == "end":
        now, clock.now = clock.now, clock.now.replace(month=3, day=9)
        inches("session", "begin", "C-0001")
        clock.now = now
    words = {
        "enter": ("session", "enter", "C-0001", "30min", "--ended"),
        "correct": ("session", "correct", "1", "--because", "wrong", "--ended"),
        "end": ("session", "end", "--at"),
        "moisture": ("blank", "moisture", "B-0001", "9", "--at"),
    }[command]
    code, _, err = inches(*words, said)
    assert code == (0 if MOMENTS[said] else 2), err
    if not MOMENTS[said]:
        return
    moment: datetime | None
    with studio.reading() as book:
        if command == "moisture":
            moment = book.query(MoistureReading).one().taken_at
        else:
            newest = book.query(BurnSession).order_by(BurnSession.id.desc()).first()
            assert newest is not None
            moment = newest.intervals[-1].ended_at
    assert moment is not None
    assert moment.isoformat().startswith(MOMENTS[said])


SIZES = {
    "11x14": ("rectangle", 279.4, 355.6),
    "round 10": ("round", 254.0, 254.0),
    "10 in round": ("round", 254.0, 254.0),
    "12-1/2 x 16 in": ("rectangle", 317.5, 406.4),
    "12 1/2 x 16": ("rectangle", 317.5, 406.4),
    "30x40cm": ("rectangle", 300.0, 400.0),
}
SIZED: dict[str, tuple[str, ...]] = {
    "commission add": ("commission", "add", "Owl", "--size"),
    "commission edit": ("commission", "edit", "C-0001", "--size"),
    "blank add": ("blank", "add", "cherry"),
    "blank edit": ("blank", "edit", "B-0001", "--size"),
    "past add": ("past", "add", "Owl", "--hours", "5", "--size"),
    "estimate": ("estimate", "--dark", "3", "--json", "--size"),
    "whatif": ("whatif", "C-0001", "--json", "--size"),
    "price-list": ("price-list", "--json"),
    "past import": ("past", "import", "{sheet}"),
}


def _sides(shown: str) -> tuple[float, float]:
    outline = parse_size(shown.replace("×", "x"))
    return outline.width_mm, outline.height_mm


@pytest.mark.parametrize(("command", "said"), crossed(SIZED, SIZES))
def test_a_size(inches: Run, studio: Studio, tmp_path: Path, command: str, said: str) -> None:
    sheet = tmp_path / "jobs.csv"
    sheet.write_text(f"Title,Size,Hours\nOwl,{said},5\n")
    words = [word.format(sheet=sheet) for word in SIZED[command]]
    code, out, err = inches(*words, *([] if command == "past import" else [said]))
    assert code == 0, err
    kind, *wanted = SIZES[said]
    tables: dict[str, Any] = {"commission": Commission, "blank": Blank, "past": PastJob}
    table = tables.get(command.split()[0])
    if table is not None:
        with studio.reading() as book:
            newest = table.id if command.endswith("edit") else table.id.desc()
            row: Any = book.scalars(select(table).order_by(newest)).first()
            assert row.outline == kind
            assert (row.width_mm, row.height_mm) == pytest.approx(tuple(wanted))
        return
    found = json.loads(out)
    if command == "price-list":  # to the sixteenth of an inch
        assert _sides(found["sizes"][0]) == pytest.approx(tuple(wanted), abs=25.4 / 32)
    else:
        shown = found[-1] if command == "whatif" else found
        assert shown["size_mm"] == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("said", "mm"), [("1/2", 12.7), ("3/4 in", 19.05), ("18mm", 18), ("½", 12.7)]
)
def test_a_thickness(inches: Run, studio: Studio, said: str, mm: float) -> None:
    assert inches("blank", "add", "cherry", "8x10", "--thickness", said)[0] == 0
    assert inches("blank", "edit", "B-0001", "--thickness", said)[0] == 0
    for code in ("B-0001", "B-0002"):
        assert blanks.show(studio, code).thickness_mm == pytest.approx(mm)


@pytest.mark.long
@pytest.mark.parametrize(("said", "mm"), [("1/2", 12.7), ("3/4 in", 19.05), ("5mm", 5)])
def test_a_margin_and_a_shift(inches: Run, studio: Studio, said: str, mm: float) -> None:
    plan = ("reference", "plan", "C-0001", "--margin", said, "--shift", f"{said},-{said}")
    code, _, err = inches(*plan)
    assert code == 0, err
    with studio.reading() as book:
        layout = book.get_one(Commission, 1).references[-1].layout
    assert layout is not None
    placed = layout["placement"]
    assert placed["margin_mm"] == pytest.approx(mm)
    assert placed["offset_mm"] == pytest.approx([mm, -mm])


@quick_first(
    ("said", "all_round", "sides"),
    [
        ("left=1/2", 0, [12.7, 0, 0, 0]),
        ("5mm bottom=1 1/4 in", 5, [0, 0, 0, 31.75]),
        ("left=10mm, right=20mm", 0, [10, 0, 20, 0]),
    ],
)
def test_margins_by_side(
    inches: Run, studio: Studio, said: str, all_round: float, sides: list[float]
) -> None:
    code, _, err = inches("reference", "plan", "C-0001", "--margin", said)
    assert code == 0, err
    with studio.reading() as book:
        layout = book.get_one(Commission, 1).references[-1].layout
    assert layout is not None
    assert layout["placement"]["margin_mm"] == all_round
    assert layout["placement"]["sides_mm"] == pytest.approx(sides)
    code, _, err = inches("reference", "plan", "C-0001", "--margin", "under=5mm")
    assert (code, "'under' is no side" in err) == (2, True)


@quick_first(("said", "when"), [("8:30pm", "20:30"), ("9", "09:00"), ("18:15", "18:15")])
def test_when_a_day_begins(inches: Run, said: str, when: str) -> None:
    assert inches("quote", "accept", "C-0001")[0] == 0
    assert inches("payment", "add", "C-0001", "300")[0] == 0
    planned = inches("session", "plan", "--starting", said)
    assert (planned[0], when in planned[1]) == (0, True), planned
    assert inches("session", "plan", "--starting", f"noon {said}")[0] == 2


MISSPELT: dict[str, tuple[str, ...]] = {
    "estimate": ("estimate", "--size", "8x10", "--dark", "3", "--species", "baswood"),
    "commission add": ("commission", "add", "Owl", "--species", "baswood"),
    "commission edit": ("commission", "edit", "C-0001", "--species", "baswood"),
    "blank add": ("blank", "add", "baswood", "8x10"),
    "blank edit": ("blank", "edit", "B-0001", "--species", "baswood"),
    "ladder add": (
        "ladder", "add", "baswood", "--tip", "x", "--heat", "2,3,4", "--lightness", "70,60,40",
    ),
    "whatif": ("whatif", "C-0001", "--species", "baswood"),
    "price-list": ("price-list", "8x10", "--species", "baswood"),
    "past add": ("past", "add", "Owl", "--size", "8x10", "--hours", "4", "--species", "baswood"),
    "past import": ("past", "import", "{sheet}"),
}  # fmt: skip
ASKED = "'baswood' is not in the species table"


def _species_kept(studio: Studio) -> set[str | None]:
    with studio.reading() as book:
        tables = (Blank, Commission, PastJob, ToneLadder)
        return {row.species for table in tables for row in book.query(table)}  # type: ignore[attr-defined]


@pytest.mark.parametrize("in_a_terminal", [False, True])
@quick_first("command", MISSPELT, quick=4)
def test_a_wood_nearly_spelt_like_one_is_asked_about(
    inches: Run,
    studio: Studio,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    command: str,
    in_a_terminal: bool,
) -> None:
    sheet = tmp_path / "jobs.csv"
    sheet.write_text("Title,Size,Wood\nOwl,8x10 in,baswood\n")
    words = [word.format(sheet=sheet) for word in MISSPELT[command]]
    if in_a_terminal:
        monkeypatch.setattr("burnplan.show.console.interactive", lambda: True)
        monkeypatch.setattr("typer.prompt", lambda *_args, **_more: "1")
        monkeypatch.setattr("burnplan.cli.asking.agreed", lambda *_args, **_more: True)
    code, out, err = inches(*words)
    assert code == 0, err
    if in_a_terminal:
        assert "Did you mean" not in err
        assert err.count("baswood") <= 4
        assert "basswood" in _species_kept(studio) or "asswood" in out
        assert "baswood" not in _species_kept(studio)
    else:
        assert f"{ASKED}. Did you mean basswood?" in err


@pytest.mark.long
def test_a_job_whose_wood_is_misspelt_is_asked_about_again(
    inches: Run, studio: Studio, photo: Path
) -> None:
    commissions.add(studio, Wishes(title="Owl", size="8x10", species="baswood"))
    for words in (
        ("reference", "add", "C-0002", str(photo)),
        ("reference", "plan", "C-0002", "--zones", "3"),
        ("whatif", "C-0002", "--zones", "4"),
        ("quote", "draft", "C-0002"),
        ("quote", "issue", "C-0002"),
    ):
        code, _, err = inches(*words)
        assert (code, "'baswood' is not in the species table" in err) == (0, True), words


@pytest.mark.parametrize("named", ["C", "POSIX", "C.UTF-8"])
def test_money_in_a_plain_locale(
    named: str, burnplan: Run, studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LC_ALL", named)
    monkeypatch.setenv("LANG", named)
    assert burnplan("settings", "currency=USD")[0] == 0
    assert burnplan("commission", "add", "Fox")[0] == 0
    issue = ("quote", "issue", "C-0001", "--hours", "10", "--price")
    assert "$1,010.04" in burnplan(*issue, "1010.04")[1]
    assert "$1,010.04" in burnplan(*issue, "$1,010.04")[1]
    assert burnplan("quote", "accept", "C-0001")[0] == 0
    assert burnplan("payment", "add", "C-0001", "$1,010.04")[0] == 0
    assert "$1,010.04" in burnplan("payment", "list")[1]
