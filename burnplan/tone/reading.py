"""From a photo and an outline to zones, lines and measures, in one go."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from burnplan.outline import Outline
from burnplan.tone.measure import ZoneMeasure, measure
from burnplan.tone.photo import open_photo
from burnplan.tone.place import PX_PER_MM, SOFT_PX_PER_MM, Placed, place, raster_scale, raster_size
from burnplan.tone.trace import TraceLine, trace_lines
from burnplan.tone.zones import MIN_AREA_MM2, ZONES, ZoneMap, find_zones

# A crop that loses more than this is worth a word.
_MUCH_CROPPED = 0.15

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """A reference, read.

    Parameters
    ----------
    placed, zones, lines, measures
        What each step made.
    photo_size : (int, int)
        Upright width and height of the original, pixels.
    notes : tuple of str
        What the user should know, one sentence each.
    """

    placed: Placed
    zones: ZoneMap
    lines: tuple[TraceLine, ...]
    measures: tuple[ZoneMeasure, ...]
    photo_size: tuple[int, int]
    notes: tuple[str, ...]


def read_reference(
    path: Path,
    outline: Outline,
    *,
    zones: int = ZONES,
    thresholds: tuple[float, ...] | None = None,
    min_area_mm2: float = MIN_AREA_MM2,
    px_per_mm: float = PX_PER_MM,
    on_progress: Progress = lambda _label, _share: None,
) -> Reading:
    """Open a photo, lay it on the outline, and find its zones and trace lines.

    Parameters
    ----------
    path : Path
    outline : Outline
    zones, thresholds, min_area_mm2, px_per_mm
        As :func:`burnplan.tone.zones.find_zones` and
        :func:`burnplan.tone.place.place` take them.
    on_progress : callable
        Called with what is being done and the share done, 0 to 1.

    Returns
    -------
    Reading

    Raises
    ------
    BadInput
        If the photo or a parameter cannot be used.
    """
    on_progress("opening the photo", 0.0)
    cover = raster_size(outline, raster_scale(outline, px_per_mm))
    photo = open_photo(path, cover=cover)
    on_progress("laying it on the blank", 0.5)
    placed = place(photo, outline, px_per_mm=px_per_mm)
    on_progress("finding the value zones", 0.6)
    zone_map = find_zones(placed, zones=zones, thresholds=thresholds, min_area_mm2=min_area_mm2)
    on_progress("drawing the trace lines", 0.8)
    lines = trace_lines(zone_map, placed)
    on_progress("measuring", 0.95)
    notes = [*photo.notes, *zone_map.notes]
    if placed.source_px_per_mm < SOFT_PX_PER_MM:
        notes.append(
            f"the photo has {placed.source_px_per_mm:.1f} pixels for a millimetre of wood;"
            f" below {SOFT_PX_PER_MM:g} fine features will be soft"
        )
    if placed.cropped_share > _MUCH_CROPPED:
        notes.append(f"{placed.cropped_share:.0%} of the photo does not fit on this shape")
    reading = Reading(
        placed,
        zone_map,
        lines,
        measure(placed, zone_map, lines),
        (photo.full_width, photo.full_height),
        tuple(notes),
    )
    on_progress("done", 1.0)
    return reading
