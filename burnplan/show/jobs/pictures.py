"""Pictures of a photo on the wood, and how they stand on the terminal."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from burnplan.show.console import console
from burnplan.show.picture import asked_for, picture
from burnplan.tone import render
from burnplan.units import UnitSystem, format_runs
from burnplan.zone_names import zone_name

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.tone.analysis import PhotoAnalysis

    Picture = npt.NDArray[np.uint8]

# Narrower than this a picture says little.
_COLUMNS = 40


def seen_first(reading: "PhotoAnalysis") -> "dict[str, Picture]":
    """Return the two pictures that say most: sepia and zones."""
    return {
        "sepia": render.sepia(reading.placed),
        "zones": render.zone_map(reading.zones, reading.placed),
    }


def all_pictures(
    reading: "PhotoAnalysis", bare: float, darkest: float, own_wood: "Picture | None" = None
) -> "dict[str, Picture]":
    """Return every picture of a reading: sepia, as the wood can hold it, zones, trace lines.

    Parameters
    ----------
    reading : PhotoAnalysis
    bare, darkest : float
        L* of the wood, unburned and burned as dark as it goes.
    own_wood : ndarray of uint8, shape (H, W, 3), optional
        It burned into a photo of the very wood.
    """
    own = {} if own_wood is None else {"own-wood": own_wood}
    return {
        "sepia": render.sepia(reading.placed),
        "wood": render.wood_preview(reading.placed, bare, darkest),
        **own,
        "zones": render.zone_map(reading.zones, reading.placed),
        "trace": render.trace_overlay(reading.lines, reading.placed),
    }


def in_words(reading: "PhotoAnalysis", units: UnitSystem) -> dict[str, str]:
    """Return what each picture of a reading shows, for who does not see it."""
    whole = sum(zone.area_cm2 for zone in reading.measures) or 1.0
    shares = ", ".join(
        f"{zone_name(zone.zone)} {100 * zone.area_cm2 / whole:.0f} %"
        f" at darkness {100 * zone.darkness:.0f} %"
        for zone in reading.measures
    )
    lines = reading.lines
    firm, light, _ = format_runs([lines.firm_cm, lines.light_cm], units)
    return {
        "sepia": "the photo as it lies on the wood, in browns",
        "wood": "the same in the tones that this wood can hold",
        "own-wood": "the same burned into the photo of this very blank",
        "zones": f"{reading.zones.count} flat tones, darkest first: {shares}",
        "trace": f"the lines to trace, {firm} firm and {light} light, over the faint photo",
    }


def _wanted() -> bool:
    """Return whether pictures are shown: not in a pipe, a dumb terminal, or where told not to."""
    return console().is_terminal and not console().is_dumb_terminal and asked_for()


def side_by_side(pictures: "dict[str, Picture]", said: Mapping[str, str]) -> RenderableType:
    """Return pictures with what they show, as many in a row as the terminal has room for.

    Parameters
    ----------
    pictures : dict of str to ndarray
        By name.
    said : mapping of str to str
        What each shows; that alone stands where pictures are left out.
    """
    words = {name: f"{name}: {said[name]}" for name in pictures}
    if not _wanted():
        return Group(*(Text(f"Picture, {text}") for text in words.values()))
    terminal = console()
    beside = min(len(pictures), max(1, terminal.width // _COLUMNS))
    room = (min((terminal.width - 2 * beside) // beside, 72), max(8, terminal.height - 7))
    named = list(pictures.items())
    grids = []
    for start in range(0, len(named), beside):
        row = named[start : start + beside]
        grid = Table.grid(padding=(0, 2))
        grid.add_row(*(picture(pixels, terminal, room) for _, pixels in row))
        grid.add_row(*(Text(words[name]) for name, _ in row))
        grids.append(grid)
    return Group(*grids)
