"""What is known of a blank as wood: its moisture, the air it lies in, how it will move."""

import math
import re
from datetime import datetime
from pathlib import Path
from typing import Literal

from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned_note
from burnplan.codes import blank_code
from burnplan.desk.derived import air, studio_settings, woods
from burnplan.desk.derived.air import Air
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_blank, find_client
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.ledger.models import Blank, BlankPhoto, Climate, MoistureReading
from burnplan.ledger.models.wood import GRAINS
from burnplan.reckon import settling
from burnplan.reckon.settling import Unknown, Verdict
from burnplan.sentences import Do, Sentence
from burnplan.units import UnitSystem
from burnplan.view import View
from burnplan.wood import moisture, movement
from burnplan.wood.movement import Movement
from burnplan.wood.species import Species

Grain = Literal["along-width", "along-height", "end-grain"]


class ReadingView(View):
    """A moisture reading, per cent."""

    moisture: float
    taken_at: datetime
    note: str


class DaysView(View):
    """Days until a blank has settled: four in five times between low and high."""

    low: float
    likely: float
    high: float


class MoistureView(View):
    """A blank's readings and what they say; moisture in per cent."""

    code: str
    species_name: str
    readings: list[ReadingView]
    shop: Air | None
    home: Air | None
    home_of: str | None
    verdict: Verdict | None
    days_left: DaysView | None
    unknown: Unknown | None
    notes: list[Sentence]


class MovedView(View):
    """What one cut of the wood does across its grain; mm."""

    cut: Literal["flat-sawn", "quarter-sawn"]
    before_mm: float
    after_mm: float
    change_mm: float
    source: str


class MovementView(View):
    """How a blank moves between two moistures; per cent and mm."""

    code: str
    species_name: str
    grain: Grain | None
    across_mm: float
    start: float
    end: float
    moved: list[MovedView]
    checking: str | None
    checking_why: str
    notes: list[Sentence]


def parse_air(text: str, units: UnitSystem) -> Air:
    """Read a temperature and a relative humidity, written together.

    Raises
    ------
    BadInput
        If either is missing or cannot be.

    Examples
    --------
    >>> air = parse_air("21C 45%", UnitSystem.METRIC)
    >>> air.celsius, air.humidity, round(air.emc, 1)
    (21.0, 45.0, 8.5)
    """
    parts = re.split(r"[\s,;/]+(?=\d)", text.strip())
    if len(parts) != 2:
        raise BadInput(f"'{text}' is not an air", "Write temperature and humidity: '21C 45%'")
    celsius = moisture.parse_temperature(parts[0], units)
    humidity = moisture.parse_percent(parts[1])
    if not 0 < humidity < 100:
        raise BadInput(f"Air of {humidity:g} % is not one to keep wood in", "Check the hygrometer")
    return Air(celsius=celsius, humidity=humidity, emc=moisture.emc(celsius, humidity))


def check_airs(shop: str | None, home: str | None, units: UnitSystem) -> None:
    """Refuse airs that cannot be, before anything is put on record.

    Raises
    ------
    BadInput
        If one of them cannot be.
    """
    for text in (shop, home):
        if text is not None:
            parse_air(text, units)


def note_air(studio: Studio, text: str, client: str | None = None) -> Air:
    """Put on record the air in the shop, or in a client's home.

    Raises
    ------
    BadInput
        If it cannot be.
    NotFound
        If there is no such client.
    """
    with studio.writing("climate.note") as (book, entry):
        units = studio_settings.of_book(book).units
        air = parse_air(text, units)
        whose = find_client(book, client) if client else None
        book.add(
            Climate(
                client_id=whose.id if whose else None,
                celsius=air.celsius,
                humidity=air.humidity,
                noted_at=studio.now(),
            )
        )
        where = f"at {whose.name}'s home" if whose else "in the shop"
        warm = moisture.format_temperature(air.celsius, units)
        entry.says(f"Noted {warm} and {air.humidity:g} % {where}")
        return air.model_copy(update={"noted_at": studio.now()})


class _Airs(View):
    """The airs that count for a blank."""

    shop: Air | None
    home: Air | None
    home_of: str | None


def _airs(book: Session, blank: Blank, shop: str | None, home: str | None) -> _Airs:
    """Return the airs given for this answer, else those on record."""
    units = studio_settings.of_book(book).units
    client = blank.commission.client if blank.commission else None
    at_home = parse_air(home, units) if home else air.on_record(book, client.id) if client else None
    return _Airs(
        shop=parse_air(shop, units) if shop else air.on_record(book, None),
        home=at_home,
        home_of=client.name if client else None,
    )


def log_moisture(
    studio: Studio,
    which: str,
    percent: str,
    *,
    at: datetime | None = None,
    note: str = "",
    instead: bool = False,
) -> MoistureView:
    """Put a moisture reading on record, or in the place of the newest, which was mistyped.

    Raises
    ------
    BadInput
        If it is not a moisture content, or still to come.
    NotAllowed
        If the blank was scrapped, or has no reading that it could replace.
    """
    value = moisture.parse_percent(percent, moisture.WETTEST)
    with studio.writing("blank.moisture") as (book, entry):
        blank = find_blank(book, which)
        _not_scrapped(blank)
        taken, wrong = at or studio.now(), None
        if instead:
            if not blank.readings:
                raise NotAllowed(f"{blank_code(blank.id)} has no reading yet", "Log this one")
            wrong = blank.readings[-1]
            taken, note = at or wrong.taken_at, note or wrong.note
            blank.readings.remove(wrong)
        if taken > studio.now():
            raise BadInput("That reading is still to come", "Give the time it was taken")
        blank.readings.append(
            MoistureReading(moisture=value, taken_at=taken, note=cleaned_note(note))
        )
        book.flush()
        book.refresh(blank, ["readings"])  # in the order of time
        what = f", not {wrong.moisture:g} %" if wrong else ""
        entry.says(f"Read {value:g} %{what} on {blank_code(blank.id)}")
        return _moisture_view(book, blank, studio.now(), None, None)


def moisture_of(
    studio: Studio, which: str, *, shop: str | None = None, home: str | None = None
) -> MoistureView:
    """Return a blank's readings and whether to wait or go.

    Parameters
    ----------
    studio : Studio
    which : str
    shop, home : str, optional
        Airs to reckon with instead of those on record, like ``21C 45%``.
    """
    with studio.reading() as book:
        return _moisture_view(book, find_blank(book, which), studio.now(), shop, home)


def _moisture_view(
    book: Session, blank: Blank, now: datetime, shop: str | None, home: str | None
) -> MoistureView:
    airs = _airs(book, blank, shop, home)
    advice, code = None, blank_code(blank.id)
    notes: list[Sentence] = []
    if not blank.readings:
        notes.append(Sentence("No reading yet: log one with ", Do("blank.moisture", blank=code)))
    if airs.shop is None:
        notes.append(Sentence("The shop's air is not known: note it with ", Do("blank.climate")))
    if blank.readings and airs.shop is not None:
        advice = settling.advise(
            [settling.MeterReading(row.taken_at, row.moisture) for row in blank.readings],
            airs.shop.emc,
            now,
            home=airs.home.emc if airs.home else None,
        )
        notes += map(Sentence, advice.notes)
    left = advice.left if advice else None
    return MoistureView(
        code=blank_code(blank.id),
        species_name=woods.on_record(book, blank.species).name,
        readings=[ReadingView.of(row) for row in blank.readings],
        shop=airs.shop,
        home=airs.home,
        home_of=airs.home_of,
        verdict=advice.verdict if advice else None,
        days_left=DaysView.of(left) if left else None,
        unknown=advice.unknown if advice else None,
        notes=notes,
    )


_CUTS: tuple[tuple[Literal["flat-sawn", "quarter-sawn"], movement.Across], ...] = (
    ("flat-sawn", movement.Across.TANGENTIAL),
    ("quarter-sawn", movement.Across.RADIAL),
)


def movement_of(
    studio: Studio, which: str, *, shop: str | None = None, home: str | None = None
) -> MovementView:
    """Return how a blank moves from what it is now to what it will be at the client's home.

    Raises
    ------
    BadInput
        If neither a reading nor the shop's air says what it is now, or nothing
        says what the air at home is.
    """
    with studio.reading() as book:
        blank = find_blank(book, which)
        airs, code = _airs(book, blank, shop, home), blank_code(blank.id)
        if airs.home is None:
            raise BadInput(
                "The air at the client's home is not known",
                "Say it: ",
                Do("blank.movement", blank=code),
            )
        notes = []
        if blank.readings:
            start = blank.readings[-1].moisture
        elif airs.shop is not None:
            start = airs.shop.emc
            notes.append(Sentence("No reading: it is taken to have settled in the shop"))
        else:
            raise BadInput(
                f"{code} has no moisture reading", "Take one: ", Do("blank.moisture", blank=code)
            )
        return _movement_view(book, blank, start, airs.home.emc, notes)


def _movement_view(
    book: Session, blank: Blank, start: float, end: float, notes: list[Sentence]
) -> MovementView:
    wood = woods.on_record(book, blank.species)
    across = _across_mm(blank)
    if blank.grain is None:
        notes.append(
            Sentence("Which way the grain runs is not on record: the longer side is shown")
        )
    moved = []
    for cut, direction in _CUTS:
        found = movement.move(wood, direction, across, start, end)
        if found is not None:
            source = _source(wood, direction, found, end - start)
            moved.append(MovedView.of(found, cut=cut, source=source))
    if not moved:
        notes.append(
            Sentence(
                f"How {wood.name.lower()} shrinks is not known: give it with ",
                Do("blank.species_add"),
            )
        )
    round_ = blank.grain == "end-grain"
    risk = movement.checking(wood, start, end) if round_ else None
    return MovementView(
        code=blank_code(blank.id),
        species_name=wood.name,
        grain=blank.grain,
        across_mm=across,
        start=start,
        end=end,
        moved=moved,
        checking=risk.risk if risk else None,
        checking_why=risk.why if risk else "",
        notes=notes,
    )


def _source(wood: Species, direction: movement.Across, moved: Movement, by: float) -> str:
    """Say which figure a movement was reckoned from: the coefficient, else the shrinkage."""
    coefficient = wood.value(f"coefficient_{direction}")
    if coefficient and math.isclose(moved.change_mm, moved.before_mm * coefficient * by):
        return wood.source(f"coefficient_{direction}")
    return wood.source(str(direction))


def _across_mm(blank: Blank) -> float:
    """Return the dimension across the grain; the longer one where nobody looked."""
    if blank.grain == "along-width":
        return blank.height_mm
    if blank.grain == "along-height":
        return blank.width_mm
    return max(blank.width_mm, blank.height_mm)


def set_grain(studio: Studio, which: str, grain: str) -> str:
    """Put on record which way the grain runs on a blank's face; return its code.

    Raises
    ------
    BadInput
        If there is no such direction.
    """
    if grain not in GRAINS:
        raise BadInput(f"The grain does not run '{grain}'", f"Choose {', '.join(GRAINS)}")
    with studio.writing("blank.grain") as (book, entry):
        blank = find_blank(book, which)
        blank.grain = grain
        entry.says(f"The grain of {blank_code(blank.id)} runs {grain}")
        return blank_code(blank.id)


def add_photo(studio: Studio, which: str, path: Path) -> str:
    """Keep a photo of a blank itself; return the blank's code.

    Raises
    ------
    BadInput
        If it is not a photo that can be read.
    """
    photo = photo_store.keep(studio, path)
    with studio.writing("blank.photo") as (book, entry):
        blank = find_blank(book, which)
        original = photo_store.recorded(book, photo)
        blank.photos.append(BlankPhoto(original_sha256=original.sha256, added_at=studio.now()))
        entry.says(f"Kept a photo of {blank_code(blank.id)}")
        return blank_code(blank.id)


def photo_of(studio: Studio, which: str) -> tuple[str, Path]:
    """Return a blank's code and the file of its newest photo.

    Raises
    ------
    NotFound
        If no photo of it was kept.
    """
    from burnplan.ledger import originals

    with studio.reading() as book:
        blank = find_blank(book, which)
        code = blank_code(blank.id)
        if not blank.photos:
            raise NotFound(
                f"No photo of {code} was kept", "Keep one: ", Do("blank.add_photo", blank=code)
            )
        newest = max(blank.photos, key=lambda photo: photo.id)
        return code, originals.fetch(studio.originals, newest.original_sha256)


def _not_scrapped(blank: Blank) -> None:
    if blank.scrapped_on:
        raise NotAllowed(f"{blank_code(blank.id)} was scrapped", "Choose another blank")
