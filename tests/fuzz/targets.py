"""Everything that reads what people type or hand over, as functions of bytes.

Each may refuse with an error meant for the user's eyes; anything else that
comes out is a bug. Each has examples, from which a fuzzer makes its inputs.
"""

import io
import json
import random
import re
import shlex
import shutil
import sys
import unicodedata
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from burnplan import cleaned, dates, money, units
from burnplan.cli import app as program
from burnplan.cli.commands import COMMANDS
from burnplan.cli.jobs.photo_options import parsed_thresholds
from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import commissions, layouts
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import backups
from burnplan.desk.money import quotes
from burnplan.desk.studio import lookup, settings
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.desk.time import past_import
from burnplan.desk.wood import blanks, conditioning
from burnplan.errors import BurnplanError
from burnplan.ledger import json_book, package
from burnplan.ledger.engines import open_engine, sqlite_url
from burnplan.outline import Outline
from burnplan.reckon.work import UNKNOWN_DARKNESS, read_grade
from burnplan.tone.photo import open_photo
from burnplan.units import UnitSystem
from burnplan.wood import hazards, moisture, species
from tests.conftest import FixedClock

NOW = datetime(2027, 3, 17, 9, tzinfo=UTC)


@dataclass(frozen=True)
class Target:
    """A reader, with examples of what it reads.

    ``read`` returns False for what it does not take, or raises an error of the user's.
    ``change`` changes an example where changing its bytes would only break its wrapping.
    """

    read: Callable[[bytes], object]
    examples: tuple[bytes, ...]
    change: Callable[[random.Random, bytes], bytes] | None = None


def refusing(read: Callable[[bytes], object], data: bytes) -> bool:
    """Let a reader read; return whether it took it. An error that is not the user's comes out."""
    try:
        return read(data) is not False
    except BurnplanError as error:
        assert_one_line(error)
        return False


def assert_one_line(error: BurnplanError) -> None:
    """Check that an error can be said."""
    assert error.message, repr(error)
    assert not error.message.endswith("."), repr(error)


# --- texts ---------------------------------------------------------------------------------


def _text(parse: Callable[[str], object], *examples: str) -> Target:
    def read(data: bytes) -> object:
        # As the system gives arguments: bytes that are no UTF-8 come as lone surrogates.
        return parse(data.decode("utf-8", "surrogateescape"))

    return Target(read, tuple(example.encode() for example in examples))


def _length(text: str) -> None:
    length = units.parse_length(text, default_unit="mm")
    assert length >= 0
    units.format_length(length, UnitSystem.IMPERIAL)


def _size(text: str) -> None:
    size = units.parse_size(text)
    assert Outline.MIN_MM <= size.width_mm <= Outline.MAX_MM
    for system in UnitSystem:
        units.format_size(size, system)


def _duration(text: str) -> None:
    length = units.parse_duration(text)
    assert timedelta(0) < length <= timedelta(hours=36)
    units.format_hours(length.total_seconds() / 3600)


def _money(currency: str, locale: str, text: str) -> None:
    amount = money.parse_money(text, currency, locale)
    assert isinstance(amount, Decimal)
    assert 0 <= amount <= money.LARGEST
    money.format_money(amount, currency, locale)


def _date(text: str) -> None:
    assert isinstance(dates.parse_date(text, date(2028, 2, 29)), date)


def _layout(text: str) -> None:
    first, _, rest = text.partition("|")
    wanted = {
        "crop": layouts.LayoutChange(crop=rest), "shift": layouts.LayoutChange(shift=rest),
        "margin": layouts.LayoutChange(margin=rest), "focal": layouts.LayoutChange(focal=[rest]),
        "drop": layouts.LayoutChange(drop=[rest]),
    }.get(first, layouts.LayoutChange(crop=text))  # fmt: skip
    made = layouts.changed(layouts.Layout(), wanted, lambda _data: "")
    assert layouts.Layout.from_dict(made.to_dict()) == made


def _setting(text: str) -> None:
    name, _, value = text.partition(" ")
    settings.parsed(studio_settings.Settings(), name, value)


def _found(studio: Studio, text: str) -> None:
    with studio.reading() as book:
        for find in (lookup.find_commission, lookup.find_blank, lookup.find_client):
            try:
                find(book, text)
            except BurnplanError as error:
                assert_one_line(error)


def _cleaned(text: str) -> None:
    assert not unseen(cleaned.cleaned(text, "title"))
    assert not unseen(cleaned.cleaned_note(text))


def _texts(studio: Studio) -> dict[str, Target]:
    return {
        "length": _text(_length, "18mm", "3/4 in", "1 1/2in", '2.5"', "½ ft", ".5 m"),
        "size": _text(_size, "30x40cm", "12 1/2 x 16 in", "round 25cm", "oval 20x30cm", "3by4in"),
        "duration": _text(_duration, "1h30", "90min", "1:30", "1.5h", "2 hours 5 m"),
        "money": _text(partial(_money, "EUR", "en"), "1,250.50", "€ 40", "40 EUR", "0.05"),
        "money, German": _text(partial(_money, "EUR", "de_DE"), "1.250,50 €", "40", "-3,5"),
        "money, yen": _text(partial(_money, "JPY", "ja_JP"), "￥1,250", "¥40", "1e3"),
        "money, French": _text(partial(_money, "CHF", "fr_CH"), "1 250,50 CHF", "1’250.50"),
        "currency": _text(money.check_currency, "eur", "XAU", "kwd"),
        "locale": _text(money.check_locale, "de-CH", "en_GB", "zh_Hans_CN", "x"),
        "date": _text(
            _date, "2027-03-18", "friday", "next mon", "in 3 weeks", "29 february",
            "march 18, 2028", "tomorrow", "in a month", "9999-12-31",
        ),
        "moment": _text(
            lambda text: dates.parse_moment(text, datetime(2027, 3, 18, 12)),  # noqa: DTZ001
            "14:30", "yesterday 9:15", "2027-03-18T14:30", "friday 25:00",
        ),
        "layout": _text(
            _layout, "crop|10,5,90,100", "shift|5mm,-3mm", "margin|1/2in", "crop|none",
            "focal|ellipse 30,20 60,70", "drop|rectangle 40mm,50mm 120mm,90mm",
        ),
        "instalment": _text(quotes.parse_instalment, "30% transferred", "12,5 burned"),
        "thresholds": _text(parsed_thresholds, "20,40,60,80", "1e1 nan"),
        "air": _text(
            partial(conditioning.parse_air, units=UnitSystem.METRIC), "21C 45%", "70°F / 35 %"
        ),
        "percent": _text(moisture.parse_percent, "9.5", "12 %", "9,5%"),
        "condition": _text(hazards.read_condition, "painted", "chipboard", "particle-board"),
        "grade": _text(lambda text: read_grade(text, UNKNOWN_DARKNESS), "0.5", "eye:3", ""),
        "species": _text(species.species_or_own, "basswood", "Tilia", "maple", "plum wood"),
        "setting": _text(
            _setting, "hours 4 4 4 4 4 0 0", "holidays DE-BY", "tax_percent 7.5%", "units metric",
            "burning_hours 2,5h", "address A; B", "hourly_target 1,234.56", "drying_days 2",
            "locale de_DE", "name Oak", "paper a4",
        ),
        "codes": _text(partial(_found, studio), "C-0001", "b1", "fox", "Ada", "00000001"),
        "cleaned": _text(_cleaned, "Two cats", "a\nb", "x\x1b[31m"),
        "database": _text(
            open_engine, "sqlite:///x.db", "postgresql+psycopg://a:b@c:5/d", "mysql://x"
        ),
    }  # fmt: skip


# --- files ---------------------------------------------------------------------------------


def _photo_examples() -> Iterator[bytes]:
    y, x = np.mgrid[:48, :64]
    grey = ((x * 3 + y * 2) % 256).astype(np.uint8)
    picture = Image.fromarray(np.dstack([grey, grey.T[:48, :48].repeat(2, 1)[:, :64], grey]))
    for kind in ("PNG", "JPEG", "TIFF", "WEBP", "GIF", "BMP", "PPM", "JPEG2000"):
        file = io.BytesIO()
        picture.save(file, kind)
        yield file.getvalue()
    exif = Image.Exif()
    exif[274], exif[306] = 6, "2027:03:17 09:00:00"
    file = io.BytesIO()
    picture.save(file, "JPEG", exif=exif)
    yield file.getvalue()
    yield b"%PDF-1.7"


def _photo(data: bytes) -> None:
    photo = open_photo(io.BytesIO(data))
    assert photo.rgb.ndim == 3
    assert min(photo.full_size) > 0


_PAST = (
    "title,finished_on,width_mm,height_mm,outline,species,darkness,texture,line_cm,prepare_h,"
    "burn_h,price\n"
    "Hare,2026-05-01,150,150,round,basswood,eye:3,0.4,690,1.2,7.5,240.00\n"
    "'=Wren,,120,90,,,,,,,,\n"
)
_SHEET = (
    "My jobs;;;;;\nTitel;Fertig am;Größe;Holz;Stunden;Preis (€)\n"
    "Hase;14. März 2025;30 x 40 cm;Linde;12,5;1.350,00\n"
    '"Dachs; alt";3/14/25;rund 25;Birke;12:30;240\nSumme;;;;25;\n'
)


def _past(studio: Studio, data: bytes) -> bool:
    path = studio.home / "past.csv"
    path.write_bytes(data)
    view = past_import.bring_in(studio, path, dry_run=True)
    assert view.added + view.known + view.twice + view.left == view.read
    assert len({fault.line for fault in view.faults}) >= view.left
    return view.added > 0


def _plain_book(empty: Path, rows: dict[str, int], data: bytes) -> None:
    book = empty.with_name("loaded.db")
    shutil.copyfile(empty, book)
    engine = open_engine(sqlite_url(book))
    try:
        json_book.load(json_book.JsonBook([data]), engine, rows)
    finally:
        engine.dispose()


def _package(folder: Path, data: bytes) -> None:
    path = folder / "some.zip"
    path.write_bytes(data)
    with package.opened(path) as found:
        found.verify()


def gently(dice: random.Random, data: bytes) -> bytes:
    """Return data with a figure changed; where it has none, with a letter in the other case."""
    changed = bytearray(data)
    figures = [n for n, byte in enumerate(data) if chr(byte) in "123456789"]
    places = figures or [n for n, byte in enumerate(data) if chr(byte).isalpha()]
    for at in dice.sample(places, min(len(places), dice.randint(1, 2))):
        changed[at] = ord(dice.choice("123456789") if figures else chr(data[at]).swapcase()) & 0xFF
    return bytes(changed)


def _in_values(dice: random.Random, data: bytes) -> bytes:
    """Return JSON with a value in it changed, often for one of its kind."""
    values = list(re.finditer(rb'(?<=: )(?:"[^"\\]*"|-?[0-9.]+)', data))
    found = dice.choice(values)
    new = dice.choice(values)[0] if dice.random() < 0.3 else gently(dice, found[0])
    return data[: found.start()] + new + data[found.end() :]


def _in_members(dice: random.Random, data: bytes) -> bytes:
    """Return an archive with one member changed, and the manifest that would say so."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(members.pop(package.MANIFEST))
    name = dice.choice(sorted(members))
    members[name] = gently(dice, members[name]) + b"\n" * dice.randint(0, 2)
    said = manifest["members"][name]
    said["bytes"], said["sha256"] = len(members[name]), sha256(members[name]).hexdigest()
    if dice.random() < 0.3:
        members[dice.choice(sorted(members))] += b"x"
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for member, content in {**members, package.MANIFEST: json.dumps(manifest).encode()}.items():
            archive.writestr(member, content)
    return file.getvalue()


def _manifest(data: bytes) -> bool:
    try:
        package.Manifest.from_json(data)
    except ValueError:
        return False  # its callers say so
    return True


# --- the command line ----------------------------------------------------------------------

_BIDIRECTIONAL = {
    *"\u061c\u200e\u200f",
    *map(chr, (*range(0x202A, 0x202F), *range(0x2066, 0x206A))),
}


def unseen(text: str) -> list[str]:
    """Return the characters of a text that a terminal would obey instead of show."""
    return [
        c for c in text
        if c not in "\n\t" and (unicodedata.category(c) in ("Cc", "Cs") or c in _BIDIRECTIONAL)
    ]  # fmt: skip


def run_program(studio: Studio, arguments: list[str]) -> tuple[int, str, str]:
    """Run a command with its output captured as a terminal in UTF-8 would take it."""
    out = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="")
    err = io.TextIOWrapper(io.BytesIO(), "utf-8", "backslashreplace", newline="")
    saved = sys.stdin, sys.stdout, sys.stderr
    sys.stdin, sys.stdout, sys.stderr = io.StringIO(), out, err
    try:
        code = program.run(arguments, studio)
        out.flush()
        err.flush()
    finally:
        sys.stdin, sys.stdout, sys.stderr = saved
    said = [stream.buffer.getvalue().decode() for stream in (out, err)]
    return code, said[0], said[1]


def _commands(studio: Studio, data: bytes) -> bool:
    arguments = data.decode("utf-8", "surrogateescape").split("\x00")
    # Nothing may be written outside the folder, and no screen filled.
    arguments = [argument.replace("/", "").replace("..", "") for argument in arguments]
    if {"workbench", "demo", "move-book"} & set(arguments):
        return False
    code, out, err = run_program(studio, arguments)
    assert code in (0, 1, 2, 130), code
    assert not unseen(out), (unseen(out), out)
    assert not unseen(err), (unseen(err), err)
    if code in (1, 2):
        assert err.count("\n") >= 1, arguments
    return code == 0


def _with_options(dice: random.Random, data: bytes) -> bytes:
    """Return a command with an option that many take, or its last word changed a little."""
    *words, last = data.split(b"\x00")
    if dice.random() < 0.7:
        return b"\x00".join([*words, last, dice.choice([b"--json", b"--help"])])
    return b"\x00".join([*words, gently(dice, last)])


# What can be done in the small book, more than once.
WORKING = (
    "jobs", "jobs --json", "commission list --all", "commission show 1", "commission show C-0002",
    "commission edit 1 --note seen", "commission add Wren --size 12x9cm", "client list",
    "client show 'Ada Berg' --json", "blank list", "blank show 1", "blank species", "step list 1",
    "step tick 1 1-3", "step untick 1 2", "session enter 1 1h30", "session list --rows 5",
    "settings paper=a3", "settings 'hours=4 4 4 4 4 2 0'", "estimate --size 20x30cm --dark 3",
    "price-list 20x30cm", "promise --hours 12", "days-off add '1 may' --because fair", "history",
    "history --page 2", "earnings", "pace", "calendar", "payment list", "check", "quote list 1",
)  # fmt: skip


def examples_of_commands() -> list[list[str]]:
    """Return the examples in the help of every command, as arguments."""
    found: list[list[str]] = []

    def walk(command: Any) -> None:
        lines = [line.strip() for line in (command.help or "").splitlines()]
        found.extend(shlex.split(line)[1:] for line in lines if line.startswith("burnplan "))
        for other in getattr(command, "commands", {}).values():
            walk(other)

    for name, listed in COMMANDS.items():
        walk(listed.command(name))
    return found


# --- all -----------------------------------------------------------------------------------


@contextmanager
def all_targets(folder: Path) -> Iterator[dict[str, Target]]:
    """Give every target, with a small book of their own in a folder."""
    clock = FixedClock()
    studio = open_studio(folder / "home", clock=clock, zone=UTC)
    empty = open_studio(folder / "empty", clock=clock, zone=UTC)
    # Notes and names may be anything: with them more of the changed books are still books.
    said = {"note": "rings wide, one knot", "location": "shelf 2"}
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", **said))
    commissions.add(
        studio, Wishes(title="Fox", client="Ada Berg", size="12x9cm", note="for the hall")
    )
    commissions.add(studio, Wishes(title="Owl in ivy", note="her own photo; not too dark"))
    backups.export(studio, folder / "all.zip")
    backups.export(studio, folder / "all")
    manifest = (folder / "all" / package.MANIFEST).read_bytes()
    of_help = examples_of_commands()
    working = [shlex.split(line) for line in WORKING]
    # More of these: most in the help need a book with more in it.
    lines = [*of_help, *working * (3 * len(of_help) // len(working))]
    commands = ["\x00".join(arguments).encode() for arguments in lines]
    with empty.reading():
        pass
    empty.close()
    rows = package.Manifest.from_json(manifest).rows
    shutil.rmtree(folder / "all" / "tables")
    try:
        yield {
            **_texts(studio),
            "photo": Target(_photo, tuple(_photo_examples())),
            "past jobs": Target(partial(_past, studio), (_PAST.encode(), _SHEET.encode())),
            "book.json": Target(
                partial(_plain_book, empty.home / "book.db", rows),
                ((folder / "all" / "book.json").read_bytes(),),
                _in_values,
            ),
            "archive": Target(
                partial(_package, folder), ((folder / "all.zip").read_bytes(),), _in_members
            ),
            "manifest": Target(_manifest, (manifest,), _in_values),
            "commands": Target(partial(_commands, studio), tuple(commands), _with_options),
        }
    finally:
        studio.close()
