"""The true outline of a blank: from a photo with a sheet on it, corners, or a drawing."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, dist, pi
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import Field
from sqlalchemy.orm import Session

from burnplan.codes import blank_code, commission_code
from burnplan.desk.derived import piece, studio_settings
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_blank
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import faces, outline_drawing
from burnplan.errors import BadInput, NotAllowed
from burnplan.files import written_whole
from burnplan.ledger.models import Blank, BlankPhoto
from burnplan.outline import Outline, OutlineKind
from burnplan.progress import Progress, part, silent
from burnplan.sentences import Do
from burnplan.units import UnitSystem, format_length, parse_length, parse_size
from burnplan.view import View

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.tone.flat_view import FlatView
    from burnplan.tone.known_sheet import FoundSheet

ENOUGH_PX = 2600
"""Pixels along a photo's sides that are enough to place an edge (a guess: two to a millimetre, as
an edge is read, of 1.3 m)."""

_OFF_SIZE = 0.1
"""A size on record that a photo changes by more than this is said (a guess: no ruler is read so
wrongly)."""

_FOLLOWS_MM = 15.0
"""Along the line, within which corners follow one that is moved (our own choice)."""

_OVEREXPOSED = (
    "The sheet is overexposed in the photo: how light the wood is cannot be told by it. Take it"
    " again, darker, for that"
)


class OutlineView(View):
    """A blank's outline; lengths in mm, points clockwise from the top left of its box."""

    code: str
    outline: OutlineKind
    width_mm: float
    height_mm: float
    area_mm2: float
    points_mm: list[tuple[float, float]]
    bark_mm: float | None
    notes: list[str] = Field(default_factory=list)


class ByPhoto(View):
    """How a photo tells its scale, as typed: a sheet, its corners, or two points."""

    sheet: str | None = None
    corners: str | None = None
    points: str | None = None
    apart: str | None = None


@dataclass(frozen=True)
class Shown:
    """An outline with the photo it was found in, the outline drawn on it."""

    view: OutlineView
    picture: "npt.NDArray[np.uint8] | None"


def view(blank: Blank, notes: Sequence[str] = ()) -> OutlineView:
    """Return the outline of a blank as shown."""
    from burnplan.tone.region import outline_polygon

    outline = piece.outline_of(blank)
    corners = outline_polygon(outline)
    return OutlineView(
        code=blank_code(blank.id),
        outline=outline.kind,
        width_mm=round(outline.width_mm, 3),
        height_mm=round(outline.height_mm, 3),
        area_mm2=round(outline.area_mm2, 1),
        points_mm=[(round(float(x), 3), round(float(y), 3)) for x, y in corners],
        bark_mm=blank.bark_mm,
        notes=list(notes),
    )


@dataclass(frozen=True, slots=True, eq=False)
class InPhoto:
    """An outline, and the photo that it was found in.

    Parameters
    ----------
    view : OutlineView
    rgb : ndarray of uint8, shape (h, w, 3)
    seen : FlatView
        From the outline's millimetres to pixels of the whole photo.
    """

    view: OutlineView
    rgb: "npt.NDArray[np.uint8]"
    seen: "FlatView"

    def drawn(
        self, points_mm: Sequence[tuple[float, float]], at: Sequence[tuple[float, float]] = ()
    ) -> "npt.NDArray[np.uint8]":
        """Return the photo with an outline drawn over it, and places on it as dots."""
        import numpy as np

        from burnplan.tone.found_outline import drawn_over

        return drawn_over(self.rgb, self.seen, np.array(points_mm), self.view.bark_mm or 0.0, at)


def in_photo(studio: Studio, which: str) -> InPhoto | None:
    """Return the outline on record and the photo it was found in; None if it was in none."""
    import numpy as np

    from burnplan.ledger import originals
    from burnplan.tone.flat_view import FlatView
    from burnplan.tone.photo import open_photo

    with studio.reading() as book:
        blank = find_blank(book, which)
        found = view(blank)
        newest = faces.photo_of(blank)
        if newest is None:
            return None
        path = originals.fetch(studio.originals, newest.original_sha256)
        matrix = np.array(newest.view, np.float64).reshape(3, 3)
    photo = open_photo(path, at_least=(1000, 1000))
    return InPhoto(found, photo.rgb, FlatView(matrix, photo.full_size))


def show(studio: Studio, which: str) -> Shown:
    """Return the outline on record, drawn over the photo it was found in, if it was."""
    found = in_photo(studio, which)
    if found is not None:
        return Shown(found.view, found.drawn(found.view.points_mm))
    with studio.reading() as book:
        blank = find_blank(book, which)
        return Shown(view(blank, _unknown(blank)), None)


def _unknown(blank: Blank) -> list[str]:
    if blank.outline != OutlineKind.LIVE_EDGE or blank.points:
        return []
    return ["Only the bounding box of its live edge is known: find its outline in a photo"]


def find(
    studio: Studio,
    which: str,
    path: Path,
    by: ByPhoto,
    on_progress: Progress | None = None,
) -> Shown:
    """Find a blank's outline in a photo of it, and keep both.

    Raises
    ------
    BadInput
        If the photo cannot be used, shows no such sheet, or the wood cannot be told
        from the bench.
    NotAllowed
        If the blank is held or used: a job is planned for its size.
    """
    from burnplan.tone.found_outline import drawn_over, find_outline
    from burnplan.tone.photo import open_photo

    progress = on_progress or silent
    with studio.reading() as book:
        blank = _free(book, which)
        kind = OutlineKind(blank.outline)
        own = studio_settings.of_book(book)
    photo = open_photo(path, at_least=(ENOUGH_PX, ENOUGH_PX), on_progress=part(progress, 0.0, 0.15))
    sheet = _scale(photo.rgb, photo.full_size, by, own.size_unit, part(progress, 0.15, 0.4))
    found = find_outline(photo.rgb, sheet, on_record=kind, on_progress=part(progress, 0.4, 0.9))
    progress(0.9, "Reading the wood")
    bare, face, overexposed = faces.read(
        photo.rgb,
        found.view,
        found.outline,
        found.sheet_mm if sheet.lies else found.sheet_mm[:0],
        sheet.lies and by.sheet != "card",  # a card may have any colour
        found.bark_mm,
    )
    progress(0.98, "Reading the wood")
    kept = photo_store.keep(studio, path)
    with studio.writing("blank.outline") as (book, entry):
        blank = _free(book, which)
        notes = _notes(blank, found.outline, len(found.unclear), own.units)
        if overexposed:
            notes.append(_OVEREXPOSED)
        _set(blank, found.outline, round(found.bark_mm, 1))
        blank.bare = blank.bare if bare is None else bare
        original = photo_store.recorded(book, kept)
        blank.photos.append(
            BlankPhoto(
                original_sha256=original.sha256,
                view=[float(one) for one in found.view.matrix.ravel()],
                face=face,
                added_at=studio.now(),
            )
        )
        entry.says(f"Found the outline of {blank_code(blank.id)} in {original.filename}")
        shown = view(blank, notes)
    import numpy as np

    points = np.array(shown.points_mm)
    picture = drawn_over(photo.rgb, found.view, points, shown.bark_mm or 0.0, found.unclear)
    return Shown(shown, picture)


def _notes(blank: Blank, found: Outline, unclear: int, units: UnitSystem) -> list[str]:
    notes = []
    if unclear:
        notes.append("Where it is dotted, wood and bench look alike: look closely there")
    before = sorted((blank.width_mm, blank.height_mm))
    after = sorted((found.width_mm, found.height_mm))
    if any(abs(new / old - 1) > _OFF_SIZE for old, new in zip(before, after, strict=True)):
        old, new = (
            " × ".join(format_length(one, units) for one in size) for size in (before, after)
        )
        notes.append(f"It was on record as {old} and is {new} by the photo")
    return notes


def _scale(
    rgb: "npt.NDArray[np.uint8]",
    photo_size: tuple[int, int],
    by: ByPhoto,
    unit: str,
    progress: Progress,
) -> "FoundSheet":
    """Return the sheet, or what stands for it, by which the photo tells its scale."""
    from burnplan.tone import known_sheet
    from burnplan.tone.flat_view import view_of_distance

    size = known_sheet.SHEETS[by.sheet or "a5"]
    if by.points is not None:
        pair = _pixels(by.points, 2)
        apart = parse_length(by.apart or "", default_unit=unit)
        seen = view_of_distance(pair[0], pair[1], apart, photo_size)
        return known_sheet.between(seen, pair)
    if by.sheet is None:
        raise BadInput(
            "It is not said what tells the scale",
            "Name the sheet that lies on the wood, for example a5",
        )
    if by.corners is not None:
        return known_sheet.known_corners(_pixels(by.corners, 4), size, photo_size)
    return known_sheet.find_sheet(rgb, size, photo_size, on_progress=progress)


def _pixels(text: str, count: int) -> list[tuple[float, float]]:
    """Read places in a photo, as typed: ``x,y x,y``."""
    hint = "Write them in pixels, x,y and a space between: 120,80 940,95"
    try:
        found = [tuple(float(one) for one in pair.split(",")) for pair in text.split()]
    except ValueError:
        found = []
    pairs = [(one[0], one[1]) for one in found if len(one) == 2]
    if len(pairs) != count or len(found) != count:
        raise BadInput(f"'{text}' is not {count} places", hint)
    return pairs


def give(studio: Studio, which: str, text: str) -> OutlineView:
    """Keep an outline as it was typed: a size, or corners in order.

    Raises
    ------
    BadInput
        If it cannot be.
    NotAllowed
        If the blank is held or used.
    """
    with studio.writing("blank.outline") as (book, entry):
        blank, own = _free(book, which), studio_settings.of_book(book)
        _set(blank, parse_size(text, default_unit=own.size_unit), blank.bark_mm)
        faces.forget(blank)
        entry.says(f"Gave {blank_code(blank.id)} its outline")
        return view(blank)


def draw(studio: Studio, which: str, path: Path) -> OutlineView:
    """Keep the outline that an SVG file draws, for example one put right by hand.

    Raises
    ------
    BadInput
        If there is none in it.
    NotAllowed
        If the blank is held or used.
    """
    corners = outline_drawing.read(path)
    with studio.writing("blank.outline") as (book, entry):
        blank = _free(book, which)
        _correct(blank, corners)
        entry.says(f"Took the outline of {blank_code(blank.id)} from {path.name}")
        return view(blank)


def write_drawing(found: OutlineView, path: Path) -> None:
    """Write an outline as an SVG file at true size, to be put right by hand.

    Raises
    ------
    OperationFailed
        If it cannot be written.
    """
    text = outline_drawing.written(found.points_mm, (found.width_mm, found.height_mm), found.code)
    with written_whole(path) as unfinished:
        unfinished.write_text(text, encoding="utf-8")


def move(studio: Studio, which: str, place: str, to: str) -> OutlineView:
    """Move the corner that lies nearest to a place on the wood to another place.

    Corners close beside it follow, so that a line of many stays smooth.

    Raises
    ------
    BadInput
        If a place is not one, or the line would cross itself.
    NotAllowed
        If the blank is held or used.
    """
    with studio.writing("blank.outline") as (book, entry):
        blank = _free(book, which)
        unit = studio_settings.of_book(book).size_unit
        corners = view(blank).points_mm
        near, target = (_place(text, unit) for text in (place, to))
        nearest = min(
            range(len(corners)),
            key=lambda one: (corners[one][0] - near[0]) ** 2 + (corners[one][1] - near[1]) ** 2,
        )
        _correct(blank, pulled(corners, nearest, target))
        entry.says(f"Moved a corner of the outline of {blank_code(blank.id)}")
        return view(blank)


def correct(studio: Studio, which: str, corners: Sequence[tuple[float, float]]) -> OutlineView:
    """Keep an outline that was put right by hand; photos go on showing it where it is.

    Parameters
    ----------
    studio : Studio
    which : str
    corners : sequence of (float, float)
        In the millimetres of the outline as it was before.

    Raises
    ------
    BadInput
        If the line crosses itself.
    NotAllowed
        If the blank is held or used.
    """
    with studio.writing("blank.outline") as (book, entry):
        blank = _free(book, which)
        _correct(blank, corners)
        entry.says(f"Put the outline of {blank_code(blank.id)} right by hand")
        return view(blank)


def _correct(blank: Blank, corners: Sequence[tuple[float, float]]) -> None:
    outline = Outline.of_corners(corners)
    _shift_views(blank, outline, corners)
    _set(blank, outline, blank.bark_mm)


def pulled(
    corners: Sequence[tuple[float, float]], which: int, to: tuple[float, float]
) -> list[tuple[float, float]]:
    """Return corners with one moved, and those close beside it along the line less and less.

    Examples
    --------
    >>> pulled([(0, 0), (5, 0), (10, 0), (90, 0), (50, 60)], 1, (5, -2))[:4]
    [(0.0, -1.5), (5.0, -2.0), (10.0, -1.5), (90.0, 0.0)]
    """
    by = to[0] - corners[which][0], to[1] - corners[which][1]
    share = [0.0] * len(corners)
    share[which] = 1.0
    for way in (1, -1):
        run = 0.0
        for step in range(1, len(corners)):
            before, here = (corners[(which + way * far) % len(corners)] for far in (step - 1, step))
            run += dist(before, here)
            if run >= _FOLLOWS_MM:
                break
            place = (which + way * step) % len(corners)
            share[place] = max(share[place], cos(pi / 2 * run / _FOLLOWS_MM) ** 2)
    return [
        (round(x + by[0] * part, 3), round(y + by[1] * part, 3))
        for (x, y), part in zip(corners, share, strict=True)
    ]


def _shift_views(blank: Blank, outline: Outline, corners: Sequence[tuple[float, float]]) -> None:
    """Let photos still show the outline where it is, or no more if it is quite another."""
    alike = abs(outline.width_mm / blank.width_mm - 1) < _OFF_SIZE
    alike = alike and abs(outline.height_mm / blank.height_mm - 1) < _OFF_SIZE
    if alike:
        faces.shift(blank, (min(x for x, _ in corners), min(y for _, y in corners)))
    else:
        faces.forget(blank)


def _place(text: str, unit: str) -> tuple[float, float]:
    parts = text.split(",")
    if len(parts) != 2:
        raise BadInput(f"'{text}' is not a place", "Write it from the top left: 120mm,35mm")
    across, down = (0.0 if one.strip() == "0" else _signed(one, unit) for one in parts)
    return across, down


def _signed(text: str, unit: str) -> float:
    plain = text.strip()
    size = parse_length(plain.removeprefix("-"), default_unit=unit)
    return -size if plain.startswith("-") else size


def _set(blank: Blank, outline: Outline, bark_mm: float | None) -> None:
    blank.outline = outline.kind
    blank.width_mm, blank.height_mm = outline.width_mm, outline.height_mm
    blank.points = [list(corner) for corner in outline.points] or None
    blank.bark_mm = bark_mm


def _free(book: Session, which: str) -> Blank:
    """Return a blank whose outline may change."""
    blank = find_blank(book, which)
    if blank.commission is not None:
        raise NotAllowed(
            f"{commission_code(blank.commission.id)} is planned for its size and wood",
            "Release it first: ",
            Do("blank.release", blank=blank_code(blank.id)),
        )
    return blank
