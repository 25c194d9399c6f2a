"""Read a reference from file to measures in one go, and in little memory."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from burnplan.outline import Outline
from burnplan.progress import Progress, part, silent
from burnplan.tone import letters as lettering
from burnplan.tone.areas import MarkedArea
from burnplan.tone.control import ToneControl, controlled
from burnplan.tone.letters import Letters
from burnplan.tone.lightness import check_wood_range
from burnplan.tone.lines import Detail, Lines, draw_lines
from burnplan.tone.measure import ZoneMeasure, measure_areas, with_lines
from burnplan.tone.noise import grain_of
from burnplan.tone.photo import PhotoInfo, Source, look, open_mask, open_photo
from burnplan.tone.place import PX_PER_MM, Placed, Placement, place, size_needed
from burnplan.tone.region import polygon_mask
from burnplan.tone.subject import likely_subject
from burnplan.tone.ticks import direction_ticks
from burnplan.tone.zones import ZoneMap, check_request, find_zones
from burnplan.zoning import DEFAULT_ZONES, MIN_AREA_MM2


@dataclass(frozen=True, eq=False)
class PhotoAnalysis:
    """All that a photo on an outline says of the work.

    Parameters
    ----------
    info : PhotoInfo
    placed : Placed
    zones : ZoneMap
    lines : Lines
    measures : tuple of ZoneMeasure
        Darkest zone first; the lettering last, if there is any.
    notes : tuple of str
        What was assumed, ignored or may disappoint, a sentence each.
    likely : MarkedArea, optional
        Where the subject is likely to be.
    letters : tuple of Letters
    focal_lettered_cm2 : tuple of float
        How much of focal areas each of them lies over.
    """

    info: PhotoInfo
    placed: Placed
    zones: ZoneMap
    lines: Lines
    measures: tuple[ZoneMeasure, ...]
    notes: tuple[str, ...]
    likely: MarkedArea | None = None
    letters: tuple[Letters, ...] = ()
    focal_lettered_cm2: tuple[float, ...] = ()

    @cached_property
    def ticks(self) -> tuple[NDArray[np.float64], ...]:
        """Ticks along its textures, mm; found when first asked for, since only sheets show them."""
        return direction_ticks(self.placed, self.lines)


def analyse_photo(
    source: Source,
    outline: Outline,
    *,
    wood_lightness: float,
    burn_lightness: float,
    placement: Placement | None = None,
    zones: int = DEFAULT_ZONES,
    thresholds: Sequence[float] | None = None,
    min_area_mm2: float = MIN_AREA_MM2,
    detail: Detail = Detail.USUAL,
    px_per_mm: float = PX_PER_MM,
    control: ToneControl | None = None,
    mask: Source | None = None,
    focal: Sequence[MarkedArea] = (),
    likely: MarkedArea | None = None,
    seek_subject: bool = False,
    letters: Sequence[Letters] = (),
    on_progress: Progress | None = None,
) -> PhotoAnalysis:
    """Open, place, divide, draw and measure a photo.

    The photo is decoded no larger than the wood needs, and let go once placed.

    Parameters
    ----------
    source : path, bytes or binary file
    outline : Outline
    wood_lightness, burn_lightness : float
        L* of the bare wood and of its darkest burn.
    placement : Placement, optional
    zones : int, optional
        Number of value zones, 3 to 9.
    thresholds : sequence of float, optional
        L* between zones instead.
    min_area_mm2 : float, optional
        Smallest island a pen can hold.
    detail : Detail, optional
        How much is drawn of its lines.
    px_per_mm : float, optional
        Resolution on the wood.
    control : ToneControl, optional
        Changes of tone, made before zones are found.
    mask : path, bytes or binary file, optional
        A picture of the photo's proportions: black or transparent parts are
        background and become bare wood.
    focal : sequence of MarkedArea, optional
        What is kept inside, gets finer zones and keeps its lines.
    likely : MarkedArea, optional
        Where the subject is likely to be: the photo is placed by it where nothing
        else says how it lies.
    seek_subject : bool, optional
        Whether to look for it.
    letters : sequence of Letters, optional
        Lettering on the piece: in no zone of the picture, and traced first.
    on_progress : Progress, optional

    Returns
    -------
    PhotoAnalysis

    Raises
    ------
    BadInput
        If the photo or a number cannot be used.
    """
    # What was asked is checked before the photo costs any time.
    check_wood_range(wood_lightness, burn_lightness)
    check_request(zones, thresholds, min_area_mm2)
    progress = on_progress or silent
    info, placed, likely = place_photo(
        source,
        outline,
        placement=placement,
        px_per_mm=px_per_mm,
        control=control,
        mask=mask,
        focal=focal,
        likely=likely,
        seek_subject=seek_subject,
        on_progress=part(progress, 0.0, 0.35),
    )
    grain = grain_of(placed)
    taken = lettering.burned_at(letters, placed) if letters else None
    picture = replace(placed, lettered=taken)

    def divided() -> tuple[ZoneMap, tuple[ZoneMeasure, ...]]:
        zone_map = find_zones(placed, zones, thresholds, min_area_mm2, grain=grain)
        return zone_map, measure_areas(picture, zone_map, wood_lightness, burn_lightness)

    # Zones and lines ask nothing of each other's pixels: two processors find them at once.
    with ThreadPoolExecutor(1) as beside:
        found = beside.submit(divided)
        lines = draw_lines(
            placed,
            detail,
            darkest=lambda: next(iter(found.result()[0].thresholds), None),
            grain=grain,
            on_progress=part(progress, 0.35, 0.85),
        )
        zone_map, measures = found.result()
    progress(0.85, "Measuring value zones")
    if taken is not None:
        lines = lettering.around(lines, taken, placed.px_per_mm)
    measures = with_lines(measures, lines, zone_map, placed.px_per_mm)
    notes = placed.notes + zone_map.notes
    if taken is not None:
        notes += lettering.notes_on(letters, placed, _likely_mask(placed, likely))
        lines = lettering.with_letters(lines, letters)
        measures += (lettering.measured(letters),)
        picture = replace(picture, lightness=lettering.shown(placed, letters, taken))
    progress(1.0, "Done")
    return PhotoAnalysis(
        info, picture, zone_map, lines, measures, notes, likely, tuple(letters),
        tuple(lettering.focal_cm2([one], placed) for one in letters),
    )  # fmt: skip


def _likely_mask(placed: Placed, likely: MarkedArea | None) -> NDArray[np.bool_] | None:
    """Return the pixels of the likely subject, if it was looked for."""
    if likely is None:
        return None
    return polygon_mask([placed.position.of(likely)], placed.inside.shape, placed.px_per_mm)


def place_photo(
    source: Source,
    outline: Outline,
    *,
    placement: Placement | None = None,
    px_per_mm: float = PX_PER_MM,
    control: ToneControl | None = None,
    mask: Source | None = None,
    focal: Sequence[MarkedArea] = (),
    likely: MarkedArea | None = None,
    seek_subject: bool = False,
    on_progress: Progress | None = None,
) -> tuple[PhotoInfo, Placed, MarkedArea | None]:
    """Open a photo, place it on an outline and set its tones; all as for :func:`analyse_photo`.

    Returns
    -------
    tuple of PhotoInfo, Placed and MarkedArea or None
        The last is where the subject is likely to be, found or as given; the notes of the
        photo come first among those of what is placed.
    """
    progress = on_progress or silent
    info = look(source)
    subject = () if control is None else control.subject
    inside = (*focal, *subject)
    enough = size_needed(info.size, outline, placement, px_per_mm, focal=inside)
    photo = open_photo(source, at_least=enough, on_progress=part(progress, 0.0, 0.85))
    notes = photo.notes
    progress(0.85, "Placing the photo")
    if seek_subject:
        likely = likely_subject(photo.rgb)
    placed = place(
        photo, outline, placement, px_per_mm, focal=focal, subject=subject, likely=likely
    )
    del photo
    if control is not None or mask is not None:
        progress(0.94, "Setting the tones")
        keep = None if mask is None else open_mask(mask, at_least=enough)
        placed = controlled(placed, control or ToneControl(), keep)
    return info, replace(placed, notes=notes + placed.notes), likely
