"""Pictures of a photo on the wood, and how they stand on the terminal."""

from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from burnplan.show.console import console
from burnplan.show.picture import picture
from burnplan.tone import render

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.tone.analysis import PhotoAnalysis
    from burnplan.wood.species import Species

    Picture = npt.NDArray[np.uint8]

# Narrower than this a picture says little.
_COLUMNS = 40


def seen_first(reading: "PhotoAnalysis") -> "dict[str, Picture]":
    """Return the two pictures that say most: sepia and zones."""
    return {
        "sepia": render.sepia(reading.placed),
        "zones": render.zone_map(reading.zones, reading.placed.bare),
    }


def all_pictures(reading: "PhotoAnalysis", wood: "Species") -> "dict[str, Picture]":
    """Return every picture of a reading: sepia, as the wood can hold it, zones, trace lines."""
    return {
        "sepia": render.sepia(reading.placed),
        "wood": render.wood_preview(reading.placed, wood.bare_lightness, wood.darkest_burn),
        "zones": render.zone_map(reading.zones, reading.placed.bare),
        "trace": render.trace_overlay(reading.lines, reading.placed),
    }


def side_by_side(pictures: "dict[str, Picture]") -> RenderableType:
    """Return pictures with their names, as many in a row as the terminal has room for."""
    terminal = console()
    beside = min(len(pictures), max(1, terminal.width // _COLUMNS))
    room = (min((terminal.width - 2 * beside) // beside, 72), max(8, terminal.height - 7))
    named = list(pictures.items())
    grids = []
    for start in range(0, len(named), beside):
        row = named[start : start + beside]
        grid = Table.grid(padding=(0, 2))
        grid.add_row(*(picture(pixels, terminal, room) for _, pixels in row))
        grid.add_row(*(Text(name, "soft") for name, _ in row))
        grids.append(grid)
    return Group(*grids)
