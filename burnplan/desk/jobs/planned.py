"""What a plan wants of each place of the wood, read again from the photo kept."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from burnplan.desk.jobs import asking, joined, readings, references
from burnplan.desk.jobs.readings import EstimateRequest
from burnplan.desk.studio.lookup import find_commission
from burnplan.desk.studio.studio import Studio
from burnplan.progress import Progress
from burnplan.wood.species import Species

if TYPE_CHECKING:
    from burnplan.tone.areas import MarkedArea
    from burnplan.tone.place import Placed
    from burnplan.tone.zones import ZoneMap


@dataclass(frozen=True, slots=True, eq=False)
class Planned:
    """What the reference in use wants of each place of the wood.

    Parameters
    ----------
    view : references.ReferenceView
    placed : Placed
    zones : ZoneMap
    wood : Species
    focal : tuple of MarkedArea
    """

    view: references.ReferenceView
    placed: "Placed"
    zones: "ZoneMap"
    wood: Species
    focal: "tuple[MarkedArea, ...]"


def planned(
    studio: Studio, which: str, px_per_mm: float, on_progress: Progress | None = None
) -> Planned:
    """Return the reference in use without its lines, read again from the photo kept.

    Raises
    ------
    NotFound
        If it has none.
    """
    from burnplan.tone.zones import find_zones

    with studio.reading() as book:
        reference = references.newest(find_commission(book, which))
        asked, photo = asking.as_planned(studio, book, reference)
        view = references.view(book, reference)
    placed = laid_as_asked(photo, asked, px_per_mm, on_progress)
    zones = find_zones(placed, asked.zones, asked.thresholds, asked.min_area_mm2)
    placed = lettered(placed, asked)
    return Planned(view, placed, zones, asked.species, asked.layout.focal if asked.layout else ())


def laid_as_asked(
    photo: Path, asked: EstimateRequest, px_per_mm: float, on_progress: Progress | None = None
) -> "Placed":
    """Return a photo, or several, as it lies on a piece, with its tones and no lettering."""
    from burnplan.desk.jobs.layouts import Layout
    from burnplan.tone.analysis import place_photo

    source, asked = joined.on_piece(photo, asked)
    layout = asked.layout or Layout()
    _, placed, _ = place_photo(
        source,
        asked.outline,
        placement=layout.placement,
        px_per_mm=px_per_mm,
        control=layout.control,
        mask=asked.mask,
        focal=layout.focal,
        likely=layout.likely,
        on_progress=on_progress,
    )
    return placed


def lettered(placed: "Placed", asked: EstimateRequest) -> "Placed":
    """Return what is placed with the lettering asked for on it."""
    from burnplan.tone import letters as lettering

    letters = readings.letters_of(asked)
    if not letters:
        return placed
    taken = lettering.burned_at(letters, placed)
    return replace(placed, lettered=taken, lightness=lettering.shown(placed, letters, taken))
