"""The care card that goes with a piece: what it is, and how to look after it.

Two forms: A6, and a business card of two sides, printed, cut and folded or glued.
"""

import os
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from reportlab.platypus import Flowable

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.commissions import CommissionView
from burnplan.desk.jobs.finishing import FinishView
from burnplan.files import written_whole
from burnplan.sheets.drawing import INK, SOFT, Drawing, new_pdf, ribbon
from burnplan.sheets.flowing import Compositor, gap, height_mm, place
from burnplan.sheets.lettering import BOLD, REGULAR
from burnplan.sheets.money import client_terms
from burnplan.sheets.paper import Box
from burnplan.sheets.reader import Reader
from burnplan.sheets.writing import Written
from burnplan.wood.species import species_on_record
from burnplan.wording import N_


class CardForm(StrEnum):
    """The form of a care card."""

    A6 = "a6"
    BUSINESS = "business"


_SIZES = {
    CardForm.A6: (105.0, 148.0),  # ISO 216
    CardForm.BUSINESS: (85.6, 53.98),  # ISO/IEC 7810, ID-1
}
_BODY = {CardForm.A6: 11.0, CardForm.BUSINESS: 7.0}  # points
_SIDE = {CardForm.A6: 10.0, CardForm.BUSINESS: 5.5}  # mm
_LEAST = 5.5  # points: what can still be read (common practice, no source)


@dataclass(frozen=True, slots=True)
class Care:
    """What a card says, in words."""

    studio: str
    contact: tuple[str, ...]
    title: str
    made_of: str
    heading: str
    lines: tuple[tuple[str, str], ...]


def care(
    commission: CommissionView, finish: FinishView, settings: Settings, reader: Reader
) -> Care:
    """Return what the card of a piece says."""
    say = reader.say
    products = dict.fromkeys(coat.product for coat in finish.coats)
    parts = [reader.wood(species_on_record(commission.species).name)] if commission.species else []
    if shape := commission.shape():
        parts.insert(0, reader.size(shape))
    if products:
        parts.append(say(N_("finish: {products}")).format(products=", ".join(products)))
    return Care(
        settings.name,
        tuple(line for line in settings.address.splitlines() if line.strip()),
        commission.title,
        " · ".join(parts),
        say(N_("How to look after it")),
        tuple(client_terms.aftercare(commission.use, reader)),
    )


def write_care_card(
    said: Care, form: CardForm, path: str | os.PathLike[str], language: str
) -> Written:
    """Write a care card as PDF: one page of A6, or the two sides of a business card."""
    width, height = _SIZES[form]
    setting = Compositor()
    with written_whole(path) as unfinished:
        canvas = new_pdf(unfinished, width, height, title=said.heading, author=said.studio)
        canvas.setCatalogEntry("Lang", language)
        pages = _pages(said, form, setting)
        for flowables in pages:
            drawing = Drawing(canvas, height, setting)
            side = _SIDE[form]
            ribbon(drawing, Box(side, side, width - 2 * side, 1.0))
            place(drawing, side, side + 3.2, width - 2 * side, flowables)
            canvas.showPage()
        canvas.save()
    return Written(Path(path), len(pages), setting.notes)


def _pages(said: Care, form: CardForm, setting: Compositor) -> list[list[Flowable]]:
    """Return what stands on each page, in the largest type that fits."""
    width, height = _SIZES[form]
    side, points = _SIDE[form], _BODY[form]
    room = height - 2 * side - 3.2
    while True:
        front, back = _piece(said, setting, points), _lines(said, setting, points)
        pages = [[*front, gap(3), *back]] if form is CardForm.A6 else [front, back]
        if points <= _LEAST or all(height_mm(one, width - 2 * side) <= room for one in pages):
            return pages
        points -= 0.25


def _piece(said: Care, setting: Compositor, points: float) -> list[Flowable]:
    found: list[Flowable] = [
        setting.text(said.studio, points + 2, BOLD),
        *(setting.text(line, points - 1, REGULAR, SOFT) for line in said.contact),
        gap(2.5),
        setting.text(said.title, points + 3, BOLD, leading=1.2),
    ]
    if said.made_of:
        found.append(setting.text(said.made_of, points, REGULAR, SOFT))
    return found


def _lines(said: Care, setting: Compositor, points: float) -> list[Flowable]:
    found: list[Flowable] = [setting.text(said.heading, points + 1, BOLD, INK), gap(1)]
    for name, words in said.lines:
        found += [setting.text(name, points, BOLD), setting.text(words, points), gap(0.8)]
    return found
