"""Round wood is round, in cells of any shape: in blocks and in the terminal's own dots."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from rich.cells import cell_len
from textual.geometry import Region
from textual.widget import Widget

from burnplan.desk.jobs import commissions, references, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.studio.studio import Studio
from burnplan.reckon.checklist import Phase
from burnplan.workbench.terminal import Cell, Terminal
from tests.cases import quick_first
from tests.workbench.hand import Hand, at_work, settle_phases

Colours = NDArray[np.int_]
Seen = Callable[[Colours], NDArray[np.bool_]]


def _is_brown(colours: Colours) -> NDArray[np.bool_]:
    return np.asarray(colours[..., 0] - colours[..., 2] > 25)


def _other_than(ground: tuple[int, int, int]) -> Seen:
    return lambda colours: np.asarray(np.abs(colours - ground).sum(axis=-1) > 12)


def _extent(mask: NDArray[np.bool_]) -> NDArray[np.int_]:
    """Return how wide and high what is seen is."""
    return np.array([np.ptp(np.flatnonzero(mask.any(axis=axis))) + 1 for axis in (0, 1)])


def _in_dots(widget: Widget, cell: Cell, seen: Seen) -> NDArray[np.int_]:
    overlay = widget.overlay()  # type: ignore[attr-defined]
    dots = overlay.dots(overlay.cells.width * cell.width, overlay.cells.height * cell.height)
    return _extent(seen(np.asarray(dots.colours, int)[dots.numbers]))


def _in_blocks(widget: Widget, cell: Cell, seen: Seen) -> NDArray[np.int_]:
    region: Region = widget.overlay().cells  # type: ignore[attr-defined]
    mask = np.zeros((region.height, region.width), np.bool_)
    for row in range(region.height):
        column = 0
        for segment in widget.render_line(region.y + row).crop(region.x, region.right):
            style, width = segment.style, cell_len(segment.text)
            assert style is not None
            said = [style.bgcolor] + [style.color] * bool(segment.text.strip())
            colours = [one.get_truecolor() for one in said if one is not None]
            mask[row, column : column + width] = seen(np.array(colours)).any()
            column += width
    return _extent(mask) * cell


@quick_first("cell", [None, Cell(9, 20), Cell(10, 17), Cell(8, 21)], quick=0, long=2)
def test_round_wood_is_round(studio: Studio, photo: Path, cell: Cell | None) -> None:
    code = commissions.add(studio, Wishes(title="Cat", size="round 20cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    settle_phases(studio, code, Phase.PREPARE, Phase.TRANSFER)
    real = cell or Cell(10, 20)

    def is_round(widget: Widget, seen: Seen) -> None:
        wide, high = _in_dots(widget, real, seen)
        assert wide == pytest.approx(high, rel=0.01, abs=1)
        wide, high = _in_blocks(widget, real, seen)
        assert wide == pytest.approx(high, abs=real.height)

    async def desk(hand: Hand) -> None:
        hand.app.terminal = Terminal(None, cell)
        hand.app.open_job(code)
        await hand.settle()
        picture = hand.app.job_page.query_one("#picture")
        is_round(picture, _other_than(picture.background_colors[1].rgb))
        await hand.press("y")
        is_round(hand.app.laying_page.query_one("Top"), _is_brown)
        await hand.press("escape")
        sessions.start(studio, code, sessions.Doing(work="burn", zone=1))
        hand.app.open_burning(code)
        await hand.settle()
        lines = hand.app.burning_page.query_one("Lines", Widget)
        is_round(lines, _other_than(lines.background_colors[1].rgb))

    at_work(studio, desk, (150, 46))
