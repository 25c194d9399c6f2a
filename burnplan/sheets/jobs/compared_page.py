"""A page for the bench: a piece against its plan, where it is too light or too dark."""

import os
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from reportlab.platypus import Flowable

from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.jobs.comparisons import ComparisonView
from burnplan.sheets.dates import written_date
from burnplan.sheets.drawing import INK, RGB, SOFT, one_page
from burnplan.sheets.flowing import Compositor, framed, gap, height_mm, place, table
from burnplan.sheets.lettering import BOLD, REGULAR
from burnplan.sheets.paper import SheetPage, paper_named
from burnplan.sheets.writing import Written
from burnplan.show.jobs.comparisons import named_places
from burnplan.tone.compare_picture import TOO_DARK, TOO_LIGHT

_MARGIN = 14.0
_SIDE_MM, _SIDE_PX = 150.0, 1400
_LINE = 4.6  # of a place in the list


def compared_page(
    path: str | os.PathLike[str],
    view: ComparisonView,
    picture: NDArray[np.uint8],
    settings: Settings,
    on: date,
) -> Written:
    """Write a comparison as a page: its picture, the places that are off, each zone.

    Parameters
    ----------
    path : path
    view : ComparisonView
    picture : ndarray of uint8, shape (H, W, 3)
        With the places numbered.
    settings : Settings
    on : date
        When it was compared.
    """
    paper, setter = paper_named(settings.paper.value), Compositor()
    title = f"{view.code} {view.title} · against its plan"
    width = paper.width_mm - 2 * _MARGIN
    with one_page(path, SheetPage(paper), setter, title=title, author=settings.name) as drawing:
        side = min(_SIDE_MM, width)
        above = [
            *_head(setter, width, view, settings, on), gap(3),
            framed(setter, picture, side, _SIDE_PX), gap(3),
        ]  # fmt: skip
        room = paper.height_mm - 2 * _MARGIN - height_mm(above, width)
        below = [*_zones(setter, width, view), gap(3)]
        most = max(1, int((room - height_mm(below, width) - 6) / _LINE))
        below += _places(setter, width, view, settings, 2 * most)
        place(drawing, _MARGIN, _MARGIN, width, [*above, *below])
    return Written(Path(path), 1, setter.notes)


def _head(
    setter: Compositor, width: float, view: ComparisonView, settings: Settings, on: date
) -> list[Flowable]:
    burning = view.burning
    shown, made = (written_date(day, settings.locale) for day in (view.taken_on, on))
    words = (
        f"Photo of {shown}, compared {made}: {burning.by_photo * 100:.0f} % burned by the photo,"
        f" {burning.by_ticks * 100:.0f} % by the ticks. Blue is too light, orange too dark by more"
        f" than {view.tolerance * 100:.0f} % darkness."
    )
    return [
        setter.text(f"Against its plan {view.code}", 8, REGULAR, SOFT),
        setter.line(view.title, width, 16, BOLD),
        setter.text(words, 8.5),
    ]


def _zones(setter: Compositor, width: float, view: ComparisonView) -> list[Flowable]:
    rows = [[setter.text(words, 8, REGULAR, SOFT) for words in ("", *_HEADS)]]
    for zone in view.zones:
        said = (
            f"{zone.wanted * 100:.0f} %", f"{max(0.0, zone.measured) * 100:.0f} %",
            f"{zone.within * 100:.0f} %",
        )  # fmt: skip
        rows.append([setter.text(words, 8.5) for words in (f"Z{zone.zone}", *said)])
    return [table(rows, [14, *[min(34.0, (width - 14) / 3)] * 3])]


_HEADS = ("darkness wanted", "measured", "of it as wanted")


def _places(
    setter: Compositor, width: float, view: ComparisonView, settings: Settings, most: int
) -> list[Flowable]:
    """Return the places that are off in two columns, as they are numbered in the picture."""
    named = named_places(view, settings)
    if not named:
        return [setter.text("No place is off by more than is allowed", 8.5)]
    shown = named[:most]
    half = -(-len(shown) // 2)
    cells = [setter.line(words, width / 2 - 4, 8.5, REGULAR, _colour(words)) for words in shown]
    cells += [setter.text("", 8.5)] * (2 * half - len(cells))
    rows = [list(pair) for pair in zip(cells[:half], cells[half:], strict=True)]
    found: list[Flowable] = [table(rows, [width / 2] * 2)]
    if len(named) > len(shown):
        found.append(setter.text(f"and {len(named) - len(shown)} smaller ones", 8, REGULAR, SOFT))
    return found


def _colour(words: str) -> RGB:
    if words.endswith("too light"):
        return TOO_LIGHT
    return TOO_DARK if words.endswith("too dark") else INK
