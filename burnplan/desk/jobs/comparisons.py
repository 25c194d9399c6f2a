"""A photo of a piece against its plan: darkness by zone, and where it is off."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import Field

from burnplan.desk.derived import job_status
from burnplan.desk.derived.job_status import HoursLeft
from burnplan.desk.jobs import photos, planned
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger.models import Commission
from burnplan.progress import Progress, part, silent
from burnplan.reckon.remaining import share_burned
from burnplan.reckon.work import Work, WorkPlan
from burnplan.view import View

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.tone.compare import PieceOnPlan

_PX_PER_MM = 2.0  # of the plan that a photo is laid on; a guess: half a millimetre, a thin line
AS_WANTED = 0.9
"""Share of a zone within the tolerance, from which it may be ticked (our own choice)."""

DOUBTFUL = 0.04
"""Standard deviation of a zone's darkness, from which it is said (a guess: nearly half of what a
zone may be off)."""
_OVEREXPOSED = 0.02  # share of the piece, from which it is said; a guess: MUCH_CLIPPED
_ASK_FOR_CARD = (
    "Too little of the piece is bare wood to tell its tone from the light: how dark it is as a"
    " whole is a guess. Lay white cards or strips of paper at its edges, take the photo again and"
    " say where they lie in it"
)


class ZoneAgainstPlan(View):
    """A zone: darkness wanted and measured, the share of it as wanted, and the doubt by light."""

    zone: int
    wanted: float
    measured: float
    within: float
    doubt: float


class PlaceOff(View):
    """A place that is off; zone 0 is what stays bare, ``whole`` a zone off nearly everywhere."""

    zone: int
    area_cm2: float
    at_mm: tuple[float, float]
    off: float
    whole: bool
    where: str


class BurningSeen(View):
    """How much of the burning is done, by the photo and by the ticks, and the hours left so.

    ``steps_offered`` are numbers of steps of the checklist that are open though their zone is
    as wanted by the photo: they are offered, never ticked.
    """

    by_photo: float
    by_ticks: float
    hours_left: HoursLeft | None
    steps_offered: list[int] = Field(default_factory=list)


class ComparisonView(View):
    """A photo of a piece against its plan.

    Darkness is (L of bare wood - L) / (L of bare wood - L of the darkest burn), in CIE L*.
    ``bare_lightness`` and ``burn_lightness`` are those of the wood. ``corners_mm_error`` is by
    how much the corners lay beside what is burned, root mean square; null where too little is
    burned to tell.
    """

    code: str
    title: str
    photo: str
    taken_on: date
    tolerance: float
    bare_lightness: float
    burn_lightness: float
    corners_mm_error: float | None
    zones: list[ZoneAgainstPlan]
    too_light: list[PlaceOff]
    too_dark: list[PlaceOff]
    burning: BurningSeen
    notes: list[str] = Field(default_factory=list)


@dataclass(frozen=True, slots=True)
class CompareRequest:
    """How a photo is to be compared.

    Parameters
    ----------
    corners : sequence of (float, float), optional
        Of the piece's bounding box in the photo, pixels from its top left, clockwise from
        the piece's own top left; found if not given.
    cards : sequence of (float, float), optional
        Points on white or grey cards in the photo.
    grey : bool
        Whether the cards are 18 % grey ones.
    tolerance : float, optional
        Darkness by which a place may be off.
    """

    corners: Sequence[tuple[float, float]] | None = None
    cards: Sequence[tuple[float, float]] = ()
    grey: bool = False
    tolerance: float | None = None


def points(text: str, *, what: str, example: str) -> list[tuple[float, float]]:
    """Return points typed as ``x,y x,y``, pixels of a photo.

    Examples
    --------
    >>> points("10,20 30.5,40", what="corners", example="")
    [(10.0, 20.0), (30.5, 40.0)]
    """
    try:
        found = [tuple(float(value) for value in one.split(",")) for one in text.split()]
        return [(x, y) for x, y in found]
    except ValueError:
        raise BadInput(
            f"'{text}' gives no {what}", f"Write pixels from the top left, like '{example}'"
        ) from None


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """A comparison with its pictures.

    Parameters
    ----------
    view : ComparisonView
    piece : PieceOnPlan
    off : ndarray of float32, shape (H, W)
        Darkness beyond what is wanted.
    px_per_mm : float
    """

    view: ComparisonView
    piece: "PieceOnPlan"
    off: "npt.NDArray[np.float32]"
    px_per_mm: float
    inside: "npt.NDArray[np.bool_]"

    def picture(self) -> "npt.NDArray[np.uint8]":
        """Return the piece with what is off in colour, and the places numbered as listed."""
        from burnplan.tone.compare_picture import off_picture

        return off_picture(
            self.piece, self.off, self.view.tolerance, self.px_per_mm, self.inside,
            [one.at_mm for one in self.view.too_light], [one.at_mm for one in self.view.too_dark],
        )  # fmt: skip


def compare(
    studio: Studio,
    which: str,
    photo: Path,
    asked: CompareRequest | None = None,
    on_progress: Progress | None = None,
) -> Compared:
    """Compare a photo of a piece with the plan of its commission.

    Raises
    ------
    NotFound
        If the commission has no reference.
    BadInput
        If the photo cannot be used, or the piece is not found in it.
    """
    from burnplan.tone.compare import (
        TOLERANCE,
        KnownLight,
        compare_zones,
        lay_on_plan,
        wanted_darkness,
    )
    from burnplan.tone.flat_view import view_of_corners
    from burnplan.tone.photo import look, open_photo
    from burnplan.tone.piece_found import find_piece
    from burnplan.tone.place import outline_mask
    from burnplan.tone.places import darkness_off, places_off, said_where
    from burnplan.tone.strip import GREY_CARD, WHITE_CARD

    asked, progress = asked or CompareRequest(), on_progress or silent
    tolerance = TOLERANCE if asked.tolerance is None else asked.tolerance
    if not 0.01 <= tolerance <= 0.5:
        raise BadInput(
            f"A place cannot be off by {tolerance:g} and still be as wanted",
            "Give a darkness from 0.01 to 0.5",
        )
    size_px = look(photo).size  # before the plan costs any time
    plan = planned.planned(studio, which, _PX_PER_MM, part(progress, 0.0, 0.4))
    placed, zones, wood = plan.placed, plan.zones, plan.wood
    outline, px = placed.outline, placed.px_per_mm
    size_mm = outline.width_mm, outline.height_mm
    scale = 0.6 * max(size_px) / max(size_mm)  # of the piece in the photo, if it is to be found
    seen = None
    if asked.corners is not None:
        seen = view_of_corners(asked.corners, size_mm, size_px)
        # Of a round piece the corners of its box may; the middles of its sides may not.
        for one, next_ in pairwise((*asked.corners, asked.corners[0])):
            if any(
                not 0 <= a + b <= 2 * most for a, b, most in zip(one, next_, size_px, strict=True)
            ):
                raise BadInput(
                    "The corners lie outside the photo",
                    f"Give them in its own pixels: it has {size_px[0]} × {size_px[1]}",
                )
        scale = float(seen.px_per_mm([(size_mm[0] / 2, size_mm[1] / 2)])[0])
    share = min(1.0, px / scale)
    enough = round(size_px[0] * share), round(size_px[1] * share)
    opened = open_photo(photo, at_least=enough, on_progress=part(progress, 0.4, 0.6))
    found = seen is None
    if seen is None:
        progress(0.6, "Looking for the piece")
        seen = find_piece(opened.rgb, outline, size_px, wanted_darkness(placed))
    progress(0.7, "Comparing")
    card = GREY_CARD if asked.grey else WHITE_CARD
    piece = lay_on_plan(
        opened.rgb,
        seen,
        placed,
        zones,
        wood.bare_lightness,
        wood.darkest_burn,
        cards=[KnownLight(at, card) for at in asked.cards],
    )
    if found and piece.corners_mm is None:
        raise BadInput(
            "The piece is not recognised in the photo by what is burned on it",
            "Photograph it whole, from above, with some bench round it, or give its corners",
        )
    off = darkness_off(piece, px)
    light, dark = places_off(off, placed, zones, tolerance)
    wanted = {zone.zone: zone.darkness for zone in plan.view.zones}
    compared = [
        ZoneAgainstPlan.of(one, wanted=wanted.get(one.zone, one.wanted))
        for one in compare_zones(piece, placed, zones, off, tolerance)
    ]
    marked = [(area.name, placed.position.of(area)) for area in plan.focal if area.name]
    too_light, too_dark = (
        [PlaceOff.of(one, where=said_where(one.at_mm, outline, marked)) for one in places]
        for places in (light, dark)
    )
    taken_on = min(photos.day_of(photo) or studio.today(), studio.today())
    view = ComparisonView(
        code=plan.view.code,
        title=plan.view.title,
        photo=photo.name,
        taken_on=taken_on,
        tolerance=tolerance,
        bare_lightness=wood.bare_lightness,
        burn_lightness=wood.darkest_burn,
        corners_mm_error=piece.corners_mm,
        zones=compared,
        too_light=too_light,
        too_dark=too_dark,
        burning=_burning(studio, plan.view.code, compared),
        notes=[*_notes(piece, compared), *opened.notes, *plan.view.notes],
    )
    progress(1.0, "Compared")
    return Compared(view, piece, off, px, outline_mask(outline, off.shape, px))


def _burning(studio: Studio, code: str, zones: Sequence[ZoneAgainstPlan]) -> BurningSeen:
    """Return how much of the burning a photo shows to be done, beside what is ticked."""
    now = studio.now()
    with studio.reading() as book:
        looked = job_status.status_of(find_commission(book, code), now)
        plan = WorkPlan.from_dict(looked.commission.references[-1].plan)
        # Of lettering a photo tells nothing: it is burned where it is ticked.
        seen = {zone.zone for zone in zones}
        share = share_burned(plan, looked.standing.zones_done - seen)
        for zone in zones:
            done = zone.measured / zone.wanted if zone.wanted > 0 else 1.0
            share += share_burned(plan, [zone.zone]) * min(max(done, 0.0), 1.0)
        left = job_status.left_if_burned(looked, min(share, 1.0), now)
        return BurningSeen(
            by_photo=min(share, 1.0),
            by_ticks=looked.settled[Work.BURN],
            hours_left=HoursLeft(p50=left.p50, p80=left.p80) if left else None,
            steps_offered=offered(looked.commission, zones),
        )


def offered(commission: Commission, zones: Sequence[ZoneAgainstPlan]) -> list[int]:
    """Return the numbers of steps that are open though their zone is as wanted by a photo."""
    done = {one.zone for one in zones if one.within >= AS_WANTED}
    return [
        number
        for number, step in enumerate(commission.steps, start=1)
        if step.zone in done and not step.settled
    ]


def _notes(piece: "PieceOnPlan", zones: Sequence[ZoneAgainstPlan]) -> list[str]:
    notes = []
    doubtful = [f"Z{zone.zone}" for zone in zones if zone.doubt > DOUBTFUL]
    if doubtful:
        of = "" if len(doubtful) == len(zones) else f" ({', '.join(doubtful)} may be off)"
        notes.append(f"{_ASK_FOR_CARD}{of}")
    if piece.corners_mm is None:
        notes.append("Too little is burned to correct the corners by: they are taken as given")
    if piece.clipped > _OVEREXPOSED:
        notes.append(
            f"{100 * piece.clipped:.0f} % of the piece is overexposed and reads as bare: take the"
            " photo again, darker"
        )
    return notes
