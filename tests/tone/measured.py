"""Zones and lines measured together."""

from burnplan.tone.lines import Lines
from burnplan.tone.measure import ZoneMeasure, measure_areas, with_lines
from burnplan.tone.place import Placed
from burnplan.tone.zones import ZoneMap


def measure(
    placed: Placed, zones: ZoneMap, lines: Lines, wood_lightness: float, burn_lightness: float
) -> tuple[ZoneMeasure, ...]:
    """Measure every value zone, and the lines to trace of which it is the darker side."""
    found = measure_areas(placed, zones, wood_lightness, burn_lightness)
    return with_lines(found, lines, zones, placed.px_per_mm)
