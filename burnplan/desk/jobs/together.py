"""Several photos put on one piece: two pets, a couple."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from burnplan.cleaned import cleaned_line
from burnplan.codes import commission_code
from burnplan.desk.derived import studio_settings
from burnplan.desk.jobs import asking, joined, readings, references, replanning
from burnplan.desk.jobs.joined import Joined
from burnplan.desk.jobs.layouts import Layout, fractions
from burnplan.desk.jobs.references import ReferenceView
from burnplan.desk.studio import photo_store
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput
from burnplan.ledger import originals
from burnplan.ledger.models import Original
from burnplan.progress import Progress
from burnplan.tone.together import HALF_WAY, Lies, Seam, Together
from burnplan.zoning import DEFAULT_ZONES, FEWEST, MIN_AREA_MM2

if TYPE_CHECKING:
    from burnplan.tone.analysis import PhotoAnalysis

_NUMBERED = re.compile(r"\s*(\d+)\s*:\s*(.+)")


@dataclass(frozen=True, slots=True)
class TogetherWishes:
    """How several photos are to share a piece, as typed; None leaves a thing as it is.

    Parameters
    ----------
    stacked : bool, optional
        One above the other, not side by side.
    shares : str, optional
        Of the piece for each, ``60,40``; ``alike`` for equal ones.
    seam : str, optional
        ``soft`` or ``hard``.
    middles : float, optional
        How far middle tones are drawn together, 0 to 100 %.
    own_tones : bool, optional
        Whether each keeps the tones it was photographed in.
    place, crop : sequence of str
        Number of a photo and left,top right,bottom of its place in % of the piece,
        ``2: 45,20 100,100``; number and left,top,right,bottom of the part to use in % of
        the photo, ``2: 10,0,90,100``; or ``2: none``.
    mirror : sequence of int
        Numbers of photos whose left and right are changed over, or changed back.
    """

    stacked: bool | None = None
    shares: str | None = None
    seam: str | None = None
    middles: float | None = None
    own_tones: bool | None = None
    place: Sequence[str] = ()
    crop: Sequence[str] = ()
    mirror: Sequence[int] = ()


def put(
    studio: Studio,
    which: str,
    photos: Sequence[Path],
    wishes: TogetherWishes,
    *,
    zones: int | None = None,
    taken_by: str | None = None,
    allowed: str | None = None,
    on_progress: Progress | None = None,
) -> "tuple[ReferenceView, PhotoAnalysis]":
    """Put several photos on a piece and plan its work from them; or lay those it has anew.

    Parameters
    ----------
    studio : Studio
    which : str
        The commission.
    photos : sequence of Path
        In the order in which they lie; none to take those that are on the piece.
    wishes : TogetherWishes
    zones : int, optional
    taken_by, allowed : str, optional
        Of all the photos given.
    on_progress : callable, optional

    Raises
    ------
    BadInput
        If a photo cannot be read, something typed cannot be, or there are too few photos.
    """
    with studio.reading() as book:
        commission = find_commission(book, which)
        code, outline = commission_code(commission.id), asking.size_for(commission)
        last = commission.references[-1] if commission.references else None
        before = joined.of_reference(studio, last) if last else None
        layout = Layout(line=studio_settings.of_book(book).line)
        counted, smallest = DEFAULT_ZONES, MIN_AREA_MM2
        if last is not None:
            counted, smallest = max(last.zones, FEWEST), last.min_area_mm2
            if before is not None and not photos:
                layout = Layout.from_dict(last.layout)
        name = Path(last.original.filename).stem if last and before and not photos else ""
    if not photos and before is None:
        raise BadInput(f"{code} has no several photos yet", "Give two or more")
    parts = _kept(studio, photos, taken_by, allowed)
    new = _wanted(before, parts, [photo_store.path_of(studio, one) for one in parts], wishes)
    name = name or " + ".join(photo.stem for photo in photos)
    kept, new, layout = joined.kept_for(studio, new, outline, layout, name)
    with studio.reading() as book:
        asked = asking.asked_of(
            studio, book, find_commission(book, code), zones or counted, None, smallest, layout, new
        )
    reading = readings.read(originals.fetch(studio.originals, kept.sha256), asked, on_progress)
    references.usable(kept, reading)
    plan = replanning.NewPlan(kept, asked, reading)
    with studio.writing("reference.together") as (book, entry):
        commission = find_commission(book, code)
        for one in parts:
            references.with_rights(book, one)
        plan.put(studio, book, commission)
        entry.says(f"Planned '{commission.title}' from {kept.filename}", commission.id)
    return references.show(studio, code, reading.notes), reading


def _kept(
    studio: Studio, photos: Sequence[Path], taken_by: str | None, allowed: str | None
) -> list[Original]:
    parts = [photo_store.keep(studio, photo) for photo in photos]
    for one in parts:
        one.taken_by = cleaned_line(taken_by or "")[:120]
        one.allowed = cleaned_line(allowed or "")[:200]
    return parts


def _wanted(
    before: Joined | None,
    parts: Sequence[Original],
    files: Sequence[Path],
    wishes: TogetherWishes,
) -> Joined:
    """Return the photos as they are to lie, from how they lay."""
    if parts:
        plain = Together(tuple(Lies() for _ in parts))
        now = Joined(plain, tuple(one.sha256 for one in parts), tuple(files), (0.0, 0.0))
    else:
        assert before is not None  # noqa: S101 - asked before
        now = before
    together = now.together
    changed: dict[str, Any] = {}
    if wishes.stacked is not None:
        changed["stacked"] = wishes.stacked
    if wishes.shares is not None:
        changed["shares"] = _shares(wishes.shares)
    if wishes.seam is not None:
        changed["seam"] = Seam(wishes.seam)
    if wishes.own_tones:
        changed["middles"] = None
    elif wishes.middles is not None:
        changed["middles"] = wishes.middles / 100
    elif wishes.own_tones is False and together.middles is None:
        changed["middles"] = HALF_WAY
    return replace(now, together=replace(together, lies=_lies(together.lies, wishes), **changed))


def _lies(before: tuple[Lies, ...], wishes: TogetherWishes) -> tuple[Lies, ...]:
    lies = list(before)
    places, crops = _numbered(wishes.place, len(lies)), _numbered(wishes.crop, len(lies))
    for number, typed in places.items():
        lies[number] = replace(lies[number], box=_place(typed))
    for number, typed in crops.items():
        lies[number] = replace(lies[number], crop=fractions(typed))
    for number in wishes.mirror:
        at = _at(number, len(lies))
        lies[at] = replace(lies[at], mirrored=not lies[at].mirrored)
    return tuple(lies)


def _numbered(typed: Sequence[str], count: int) -> Mapping[int, str]:
    found = {}
    for text in typed:
        read = _NUMBERED.fullmatch(text)
        if read is None:
            raise BadInput(f"'{text}' names no photo", "Begin with its number, like '2: …'")
        found[_at(int(read[1]), count)] = read[2]
    return found


def _at(number: int, count: int) -> int:
    if not 1 <= number <= count:
        raise BadInput(f"There is no photo {number}", f"They are counted from 1 to {count}")
    return number - 1


def _place(typed: str) -> tuple[float, float, float, float] | None:
    return fractions(typed.strip().replace(" ", ","))


def _shares(typed: str) -> tuple[float, ...] | None:
    if typed.strip().lower() == "alike":
        return None
    try:
        return tuple(float(one.strip().removesuffix("%")) for one in typed.split(","))
    except ValueError:
        raise BadInput(f"'{typed}' are no shares", "Write one for each photo, like 60,40") from None
