"""Blanks: the wood in stock, how far it is sanded, and which job it is held for."""

from datetime import date
from decimal import Decimal
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned, cleaned_line, cleaned_note
from burnplan.codes import blank_code, commission_code
from burnplan.desk.derived import air, hazards_found, piece, studio_settings, woods
from burnplan.desk.derived.hazards_found import HazardView
from burnplan.desk.studio.lookup import find_blank
from burnplan.desk.studio.paging import ALL, ListPage
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import faces, hazards, outline_drawing, own_species
from burnplan.desk.wood.faces import MarkView
from burnplan.desk.wood.hazards import ConditionView
from burnplan.errors import BadInput, NotAllowed
from burnplan.files import given_path
from burnplan.ledger.models import Blank, Commission, Sanding
from burnplan.money import parse_money
from burnplan.outline import Outline, OutlineKind
from burnplan.reckon.checklist import sanding_key
from burnplan.sentences import Do
from burnplan.units import parse_length, parse_size
from burnplan.view import View

State = Literal["in stock", "held", "used", "scrapped"]


class NewBlank(View):
    """A blank to put in stock, as typed."""

    species: str
    size: str
    thickness: str | None = None
    cost: str | None = None
    grit: int | None = None
    supplier: str = ""
    location: str = ""
    note: str = ""


class BlankChange(View):
    """What is put right of a blank, as typed; None leaves it as it is, nothing clears it."""

    species: str | None = None
    size: str | None = None
    thickness: str | None = None
    cost: str | None = None
    supplier: str | None = None
    location: str | None = None
    note: str | None = None


class BlankView(View):
    """A blank, as shown; lengths in mm.

    ``bare`` is the L* of its own face and ``marks`` what is to be kept off, both as read from
    the photo of its outline; ``grain_degrees`` is clockwise from straight across.
    """

    code: str
    species: str
    species_name: str
    outline: OutlineKind
    size_mm: tuple[float, float]
    points_mm: list[tuple[float, float]]
    bark_mm: float | None
    bare: float | None
    grain_degrees: float | None
    marks: list[MarkView]
    thickness_mm: float | None
    cost: Decimal | None
    supplier: str
    location: str
    note: str
    state: State
    held_for: str | None
    grit: int | None
    sanding_left: list[str]
    grain: str | None
    moisture: float | None
    conditions: list[ConditionView]
    hazards: list[HazardView]
    photos: int
    checking: str
    scrapped_on: date | None
    scrap_reason: str | None

    def shape(self) -> Outline:
        """Return its outline."""
        return Outline(self.outline, *self.size_mm, tuple(self.points_mm))


def state_of(blank: Blank) -> State:
    """Return whether a blank is in stock, held, used or scrapped."""
    if blank.scrapped_on:
        return "scrapped"
    if blank.commission is None:
        return "in stock"
    return "used" if blank.commission.delivered_on else "held"


def view(book: Session, blank: Blank) -> BlankView:
    """Return a blank as shown."""
    return BlankView.of(
        blank,
        code=blank_code(blank.id),
        species_name=woods.on_record(book, blank.species).name,
        size_mm=(blank.width_mm, blank.height_mm),
        points_mm=list(piece.outline_of(blank).points),
        grain_degrees=faces.grain_of(blank),
        marks=faces.marks_of(blank),
        state=state_of(blank),
        held_for=commission_code(blank.commission.id) if blank.commission else None,
        grit=max((row.grit for row in blank.sandings if row.grit), default=None),
        sanding_left=[sanding.label for sanding in piece.sanding_left(blank)],
        moisture=blank.readings[-1].moisture if blank.readings else None,
        conditions=hazards.conditions_of(blank),
        hazards=hazards_found.of_blank(book, blank),
        photos=len(blank.photos),
        checking=air.checking_words(book, blank),
    )


def _check_grit(grit: int) -> int:
    if not 20 <= grit <= 5000:
        raise BadInput(f"{grit} is not a grit", "Common are 120, 150, 220 and 320")
    return grit


def _size(typed: str, unit: str) -> Outline:
    """Read a size, corners, or the name of a drawing of its outline."""
    if typed.strip().lower().endswith(".svg"):
        return Outline.of_corners(outline_drawing.read(given_path(typed.strip())))
    return parse_size(typed, default_unit=unit)


def add(studio: Studio, new: NewBlank) -> BlankView:
    """Put a blank in stock.

    Raises
    ------
    BadInput
        If its size, thickness, cost or grit cannot be.
    """
    wood = own_species.meant(studio, new.species)
    with studio.writing("blank.add") as (book, entry):
        own = studio_settings.of_book(book)
        size, thick = _size(new.size, own.size_unit), new.thickness
        blank = Blank(
            species=wood.key,
            outline=size.kind,
            width_mm=size.width_mm,
            height_mm=size.height_mm,
            points=[list(corner) for corner in size.points] or None,
            thickness_mm=parse_length(thick, default_unit=own.thickness_unit) if thick else None,
            cost=parse_money(new.cost, own.currency, own.locale) if new.cost else None,
            supplier=cleaned_line(new.supplier)[:200],
            location=cleaned_line(new.location)[:200],
            note=cleaned_note(new.note),
            added_at=studio.now(),
            sandings=[],
        )
        if new.grit is not None:
            sanding = Sanding(grit=_check_grit(new.grit), water=False, done_at=studio.now())
            blank.sandings.append(sanding)
        book.add(blank)
        book.flush()
        entry.says(f"Put {blank_code(blank.id)} in stock ({wood.name.lower()})")
        return view(book, blank)


def edit(studio: Studio, which: str, change: BlankChange) -> BlankView:
    """Put right what is on record of a blank.

    Raises
    ------
    BadInput
        If something given cannot be.
    NotAllowed
        If its size or wood is changed though it is held or used: a job is planned for them.
    """
    wood = None if change.species is None else own_species.meant(studio, change.species)
    with studio.writing("blank.edit") as (book, entry):
        blank, own = find_blank(book, which), studio_settings.of_book(book)
        code, typed = blank_code(blank.id), change.size
        size = None if typed is None else _size(typed, own.size_unit)
        if (size or wood) and blank.commission is not None:
            raise NotAllowed(
                f"{commission_code(blank.commission.id)} is planned for its size and wood",
                "Release it first: ",
                Do("blank.release", blank=code),
            )
        if size is not None:
            blank.outline = size.kind
            blank.points = [list(corner) for corner in size.points] or None
            blank.width_mm, blank.height_mm = size.width_mm, size.height_mm
            faces.forget(blank)
        if wood is not None:
            blank.species = wood.key
        if change.thickness is not None:
            thick = change.thickness.strip()
            unit = own.thickness_unit
            blank.thickness_mm = parse_length(thick, default_unit=unit) if thick else None
        if change.cost is not None:
            cost = change.cost.strip()
            blank.cost = parse_money(cost, own.currency, own.locale) if cost else None
        for name in ("supplier", "location"):
            if (text := getattr(change, name)) is not None:
                setattr(blank, name, cleaned_line(text)[:200])
        if change.note is not None:
            blank.note = cleaned_note(change.note)
        entry.says(f"Changed {code}: {change.given()}")
        return view(book, blank)


def sand(studio: Studio, which: str, grit: int | None, *, not_done: bool = False) -> BlankView:
    """Put on record that a blank was gone over with a grit, or wetted (grit None).

    What was ``not_done`` is taken off the record, and its step opened again.

    Raises
    ------
    NotAllowed
        If it has been scrapped, a coarser grit follows a finer one, or what was not done
        is not on record.
    """
    with studio.writing("blank.sand") as (book, entry):
        blank = find_blank(book, which)
        if blank.scrapped_on:
            raise NotAllowed(f"{blank_code(blank.id)} was scrapped", "Choose another blank")
        if not_done:
            _take_off(book, blank, grit)
            entry.says(f"Took {_sanding(grit)} off the record of {blank_code(blank.id)}")
            return view(book, blank)
        reached = max((row.grit for row in blank.sandings if row.grit), default=None)
        if grit is not None and reached is not None and _check_grit(grit) < reached:
            raise NotAllowed(
                f"{blank_code(blank.id)} has reached {reached} already",
                f"A coarser grit undoes it; if it has not, take {reached} off its record",
            )
        made = None if grit is None else _check_grit(grit)
        blank.sandings.append(Sanding(grit=made, water=made is None, done_at=studio.now()))
        if blank.commission is not None:
            _tick_sanding(blank, studio)
        what = f"Sanded {blank_code(blank.id)} with {grit}" if grit else "Raised the grain of"
        entry.says(what if grit else f"{what} {blank_code(blank.id)}")
        return view(book, blank)


def _sanding(grit: int | None) -> str:
    return "the raised grain" if grit is None else f"grit {grit}"


def _take_off(book: Session, blank: Blank, grit: int | None) -> None:
    """Take a grit, or the raised grain, off the record of a blank and of the job it is held for."""
    row = next((one for one in blank.sandings if one.grit == grit), None)
    if row is None:
        raise NotAllowed(
            f"{blank_code(blank.id)} has not {_sanding(grit)} on record", "Nothing to take off"
        )
    blank.sandings.remove(row)
    book.delete(row)
    if blank.commission is not None and blank.commission.is_open:
        for step in blank.commission.steps:
            if step.key == sanding_key(grit):
                step.ticked_at = None


def _tick_sanding(blank: Blank, studio: Studio) -> None:
    """Tick the sanding steps of the commission that the blank has now had."""
    done = {sanding_key(row.grit) for row in blank.sandings}
    if blank.commission is not None:
        for step in blank.commission.steps:
            if step.key in done and not step.settled:
                step.ticked_at = studio.now()


def scrap(studio: Studio, which: str, reason: str) -> BlankView:
    """Write a blank off, with the reason.

    Raises
    ------
    NotAllowed
        If it is held or used.
    """
    with studio.writing("blank.scrap") as (book, entry):
        blank = find_blank(book, which)
        if state_of(blank) != "in stock":
            raise NotAllowed(
                f"{blank_code(blank.id)} is {state_of(blank)}",
                "Release it first: ",
                Do("blank.release", blank=blank_code(blank.id)),
            )
        blank.scrapped_on, blank.scrap_reason = studio.today(), cleaned(reason, "reason")
        entry.says(f"Scrapped {blank_code(blank.id)}: {blank.scrap_reason}")
        return view(book, blank)


def show(studio: Studio, which: str) -> BlankView:
    """Return one blank."""
    with studio.reading() as book:
        return view(book, find_blank(book, which))


def everything(studio: Studio, *, gone: bool = False, page: ListPage = ALL) -> list[BlankView]:
    """Return the blanks in stock and held, or those used and scrapped too."""
    query = select(Blank).order_by(Blank.id)
    if not gone:
        used = Blank.commission.has(Commission.delivered_on.is_not(None))
        query = query.where(Blank.scrapped_on.is_(None), ~used)
    with studio.reading() as book:
        return [view(book, blank) for blank in book.scalars(page.of(query))]
