"""What the burning page shows, as lines for a width and a height: nothing but that.

It is read at arm's length and in a glance: what must be read from the chair is an area, or
figures three rows high at least. On a screen whose rows are 4.5 mm high these are 13 mm; at a
metre letters want 20 to 22 minutes of arc, 6 mm (ISO 9241-303, from memory). Everything said
by colour is said by a word or a shape as well.
"""

import itertools
import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal, NamedTuple

from rich.cells import cell_len
from textual.content import Content

from burnplan.reckon.day_plan import BREAK, STRETCH
from burnplan.unbroken import wrapped
from burnplan.workbench import blocks, drawing
from burnplan.workbench.dots import Dots
from burnplan.workbench.drawing import EMBER, GOOD, SOFT, STRONG, WARN
from burnplan.zone_names import LETTERING, zone_mark

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from burnplan.workbench.gather import Shapes

State = Literal["running", "paused", "standing"]

# Three dots wide, five high.
_FIGURES = {
    "0": "### #.# #.# #.# ###", "1": ".#. ##. .#. .#. ###", "2": "### ..# ### #.. ###",
    "3": "### ..# .## ..# ###", "4": "#.# #.# ### ..# ..#", "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###", "7": "### ..# ..# .#. .#.", "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###", ":": ". # . # .", ".": ". . . . #", "-": "... ... ### ... ...",
}  # fmt: skip
# Four dots to a cell; the first is above on the left, then right, below left, below right.
_QUARTERS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"

# Columns of what stands beside the picture, and the fewest that show anything of a picture.
_WIDE, _SLIM, NARROWEST = 44, 30, 16

_STROKES = "─╲│╱"  # of ticks, by eighths of a turn from right to down

_NAMES: dict[State, tuple[str, str]] = {
    "running": ("● BURNING", EMBER), "paused": ("‖ PAUSED", WARN), "standing": ("○ STANDING", SOFT),
}  # fmt: skip


class ZoneLine(NamedTuple):
    """A zone in the list of all: its area with its unit, its tone, and whether it is done."""

    zone: int
    area: str
    tone: str
    done: bool


class Board(NamedTuple):
    """What is being burned, and what to know while it is.

    Parameters
    ----------
    state : str
        Of the clock: running, paused or standing.
    title, code, work : str
    zone, zones : int or None
        Which is burned, 1 darkest, and how many the picture has.
    worked : timedelta
        On this session.
    began, now, rest : datetime or None
        On the clock on the wall: since when, now, and when a break is due.
    tip, heat : str
        Empty where nobody knows.
    area : str
        Of the zone, with its unit.
    darkness : float or None
        Of the zone, 0 to 1.
    tone, bare : str
        Colours of the zone when burned and of the bare wood, as ``#rrggbb``.
    step, after : str
        What is being done, and what comes then.
    caution : str
        Of this step; what to mind at every session has a line of its own below the page.
    all_zones : tuple of ZoneLine
    armed : bool
        Whether the next press says that the zone is done.
    """

    state: State
    title: str
    code: str
    work: str
    zone: int | None
    zones: int
    worked: timedelta
    began: datetime | None
    now: datetime
    rest: datetime | None
    tip: str
    heat: str
    area: str
    darkness: float | None
    tone: str
    bare: str
    step: str
    after: str
    caution: str
    all_zones: tuple[ZoneLine, ...] = ()
    armed: bool = False

    @property
    def break_due(self) -> bool:
        """Whether it is time to rest."""
        return self.state == "running" and self.rest is not None and self.now >= self.rest


def figures(text: str, *, large: bool) -> list[str]:
    """Return a number in figures of three rows, or of five.

    Examples
    --------
    >>> for row in figures("1:4", large=False): print(row)
    ▄█  ▄ █ █
     █  ▄ ▀▀█
    ▀▀▀     ▀
    """
    rows = list(zip(*(_FIGURES[letter].split() for letter in text), strict=True))
    if large:
        return [
            "  ".join("".join("██" if one == "#" else "  " for one in dot) for dot in row)
            for row in rows
        ]
    rows.append(tuple("." * len(dots) for dots in rows[0]))
    halves = {"..": " ", "#.": "▀", ".#": "▄", "##": "█"}
    return [
        " ".join(
            "".join(halves[a + b] for a, b in zip(above, below, strict=True))
            for above, below in zip(rows[y], rows[y + 1], strict=True)
        )
        for y in (0, 2, 4)
    ]


def in_figures(text: str) -> bool:
    """Return whether something can be written in figures."""
    return 0 < len(text) <= 4 and set(text) <= _FIGURES.keys()


Drawn = Callable[[int, int], list[Content]]
"""A picture for a width and a height in cells, in the middle of them."""


def lines(board: Board, drawn: Drawn | None, width: int, height: int) -> list[Content]:
    """Return the lines of the page.

    Parameters
    ----------
    board : Board
    drawn : callable or None
        Draws the picture; None where there is none, or not yet.
    width, height : int
        Cells.
    """
    foot, across, body = _parts(board, width, height)
    side = width - across - 2
    shown = _panel(board, side, body, wide=side == _WIDE)
    if across >= NARROWEST and drawn is not None:
        picture_ = drawn(across, body)
        shown += [Content("")] * (len(picture_) - len(shown))
        shown = [
            Content.assemble(left, "  ", right)
            for left, right in zip(picture_, shown, strict=True)
        ]  # fmt: skip
    all_ = [_head(board, width), Content(""), *shown, *foot]
    return [one if one.cell_length <= width else one.truncate(width, ellipsis=True) for one in all_]


def room(board: Board, width: int, height: int) -> tuple[int, int]:
    """Return the columns and rows for the picture; it begins at the left of the third line."""
    _, across, body = _parts(board, width, height)
    return across, body


def _parts(board: Board, width: int, height: int) -> tuple[list[Content], int, int]:
    """Return what stands below the picture, and the columns and rows that leaves for it."""
    foot = _foot(board, width, 2 if height >= 20 else 1)
    body = max(1, height - 2 - len(foot))
    side = _WIDE if width >= 110 and body >= 24 else _SLIM
    return foot, width - side - 2, body


def _head(board: Board, width: int) -> Content:
    name, style = ("‖ BREAK", f"bold {WARN}") if board.break_due else _NAMES[board.state]
    if board.state == "running" and not board.break_due and board.work != "burn":
        name = "● AT WORK"
    which = ""
    if board.zone is not None:
        end = {1: ", the darkest", board.zones: ", the lightest"}.get(board.zone, "")
        which = f"  zone {board.zone} of {board.zones}{end}"
        if board.zone == LETTERING:
            which = "  the lettering"
    elif board.work:
        which = f"  {board.work}"
    since = f"  since {board.began:%H:%M}" if board.began else ""
    right = f"{board.code}{since if width >= 100 else ''}  now {board.now:%H:%M}"
    room = width - cell_len(name + which + right) - 4
    title = drawing.fitted(board.title, room, right=True) if room >= 8 else " " * max(0, room)
    return Content.assemble(
        (name, style), (which, STRONG), "  ", (title, STRONG), "  ", (right, SOFT)
    )


def _panel(board: Board, width: int, height: int, *, wide: bool) -> list[Content]:
    """Return what stands beside the picture, filled to its height."""
    minutes = int(board.worked.total_seconds()) // 60
    style = {"running": EMBER, "paused": WARN, "standing": SOFT}[board.state]
    clock = figures(f"{minutes // 60}:{minutes % 60:02d}", large=True)
    if board.state == "paused":  # hollow
        clock = [row.replace("█", "▒") for row in clock]
    rows = [Content.styled(row, style) for row in clock]
    rows += [Content(""), *_till_break(board, min(width - 2, 40)), Content("")]
    rows += _figures_side_by_side(board, large=wide)
    rows.append(Content(""))
    if board.tip or (board.heat and not in_figures(board.heat)):
        heat = "" if in_figures(board.heat) else board.heat
        with_what = " · ".join(part for part in (board.tip, heat) if part)
        rows.append(Content.assemble(("tip   ", SOFT), (with_what, STRONG)))
    if board.darkness is not None:
        swatch = _swatch(board)
        words = f"{100 * board.darkness:.0f} % dark"
        rows.append(Content.assemble(("tone  ", SOFT), *swatch, words))
        if wide:
            rows.append(Content.assemble("      ", *swatch, ("beside bare wood", SOFT)))
        rows.append(Content.assemble(("area  ", SOFT), board.area))
    if len(board.all_zones) + 1 <= height - len(rows):
        rows += [Content(""), *_all_zones_listed(board)]
    # Where there is too little room, the space between the parts goes first.
    while len(rows) > height and any(not row.plain for row in rows):
        del rows[next(at for at, row in reversed([*enumerate(rows)]) if not row.plain)]
    return (rows + [Content("")] * (height - len(rows)))[:height]


def _all_zones_listed(board: Board) -> list[Content]:
    """Return a line for each zone: done, under way, or to come."""
    lines_ = []
    for one in board.all_zones:
        here = one.zone == board.zone
        mark = ("▸", EMBER) if here else ("✓", GOOD) if one.done else ("·", SOFT)
        lines_.append(Content.assemble(
            mark, (f" {zone_mark(one.zone)}  ", STRONG if here else ""),
            ("    ", f"on {one.tone}" if one.tone else ""),
            (drawing.fitted(one.area, 11, right=True), STRONG if here else SOFT),
        ))  # fmt: skip
    return lines_


def _swatch(board: Board) -> list[tuple[str, str]]:
    if not board.tone:
        return []
    return [(" " * 9, f"on {board.tone}"), (" " * 3, f"on {board.bare}"), ("  ", "")]


def _till_break(board: Board, width: int) -> list[Content]:
    if board.state != "running" or board.rest is None:
        said = {"paused": "The clock is paused", "standing": "The clock stands still"}
        return [Content.styled(said.get(board.state, ""), SOFT)]
    left = board.rest - board.now
    minutes = max(0, -(-int(left.total_seconds()) // 60))
    if board.break_due:
        length = int(BREAK.total_seconds()) // 60
        words, style = f"Rest {length} min: eyes, hands, air", f"bold {WARN}"
    else:
        words, style = f"{minutes} min to the break at {board.rest:%H:%M}", ""
    full, rest = drawing.bar(1 - left / STRETCH, width)
    return [Content.assemble(full, rest), Content.styled(words, style)]


def _figures_side_by_side(board: Board, *, large: bool) -> list[Content]:
    """Return the zone and the heat, each under its name."""
    shown = [("zone", str(board.zone))] if board.zone is not None else []
    if in_figures(board.heat):
        shown.append(("heat", board.heat))
    if not shown:
        return []
    parts = [figures(text, large=large) for _, text in shown]
    sizes = [max(cell_len(name), *map(cell_len, part)) + 5
             for (name, _), part in zip(shown, parts, strict=True)]  # fmt: skip
    heads = "".join(
        drawing.fitted(name, size) for (name, _), size in zip(shown, sizes, strict=True)
    )
    rows = [Content.styled(heads.rstrip(), SOFT)]
    for row in zip(*parts, strict=True):
        words = "".join(
            part + " " * (size - cell_len(part)) for part, size in zip(row, sizes, strict=True)
        )
        rows.append(Content.styled(words.rstrip(), STRONG))
    return rows


def _foot(board: Board, width: int, room: int) -> list[Content]:
    """Return what is done, what comes then, and what to mind in so many lines at most."""
    rule = Content.styled("─" * width, "$line")
    if board.armed:
        doing = Content.styled(
            drawing.fitted(f"Zone {board.zone} done? Press enter once more", width), f"bold {GOOD}"
        )
    else:
        doing = Content.assemble(
            ("now   ", SOFT), (drawing.fitted(board.step or "–", width - 6), STRONG)
        )
    after = Content.assemble(("then  ", SOFT), drawing.fitted(board.after or "–", width - 6))
    said = wrapped(board.caution, width - 2)
    if len(said) > room:
        said = [*said[: room - 1], drawing.fitted(" ".join(said[room - 1 :]), width - 2)]
    minded = [
        Content.assemble(("! " if n == 0 else "  ", f"bold {WARN}"), words)
        for n, words in enumerate(said)
    ]
    return [rule, doing, after, *minded]


# --- the picture -----------------------------------------------------------------------------


def picture(
    shapes: "Shapes", zone: int | None, width: int, height: int, aspect: float = 2.0
) -> list[Content]:
    """Return the picture in the middle of some room: one zone of it, or all in their tones."""
    left, above, columns, rows = place(shapes, width, height, aspect)
    drawn = (
        _one_zone(shapes, zone, columns, rows) if zone is not None
        else _all_zones(shapes, columns, rows)
    )  # fmt: skip
    blank = Content(" " * width)
    margins = (" " * left, " " * (width - columns - left))
    found = [blank] * above
    found += [Content.assemble(margins[0], line, margins[1]) for line in drawn]
    return [*found, *([blank] * (height - rows - above))]


def place(
    shapes: "Shapes", width: int, height: int, aspect: float = 2.0
) -> tuple[int, int, int, int]:
    """Return where the picture stands in some room: left, above, columns and rows.

    A cell is ``aspect`` times as high as wide.
    """
    tall, across = shapes.labels.shape
    columns = max(2, min(width, int(height * aspect * across / tall)))
    rows = max(1, min(height, round(columns * tall / across / aspect)))
    return (width - columns) // 2, (height - rows) // 2, columns, rows


def in_dots(
    shapes: "Shapes",
    zone: int | None,
    cells: tuple[int, int],
    colours: Sequence[tuple[int, int, int]],
    size: tuple[int, int],
) -> Dots:
    """Return the picture in dots.

    Parameters
    ----------
    shapes : Shapes
    zone : int or None
        One, or all in their tones.
    cells : tuple of int
        The columns and rows that it takes.
    colours : sequence of tuple of int
        Of the ground, of the wood, of what was burned before, and of the zone.
    size : tuple of int
        Width and height in dots.
    """
    import cv2
    import numpy as np
    from textual.color import Color

    def finer(mask: "npt.NDArray[np.bool_]") -> "npt.NDArray[np.bool_]":
        if size[0] < mask.shape[1]:
            return lit(mask, *size)
        share = cv2.resize(mask.astype(np.float32), size, interpolation=cv2.INTER_LINEAR)
        return np.asarray(share >= 0.5, np.bool_)

    labels, inks, room = shapes.labels, [*colours], size
    size = blocks.fitting(labels.shape, room)
    numbers = np.zeros(size[::-1], np.uint8)
    if zone is None:
        for one, tone in shapes.tones.items():
            numbers[finer(labels == one)] = len(inks)
            inks.append(Color.parse(tone).rgb)
        return Dots(blocks.amid(numbers, room), np.array(inks, np.uint8))
    numbers[finer(labels > 0)] = 1
    numbers[finer((labels > 0) & (labels < zone))] = 2
    on = finer(labels == zone)
    numbers[on] = 3
    ticks = np.zeros(size[::-1], np.uint8)
    half = size[0] / cells[0]
    here = [way for way in shapes.ways if on[int(way[1] * size[1] - 1), int(way[0] * size[0] - 1)]]
    for x, y, angle in _thinned(here, *cells).values():
        across, down = half * math.cos(angle), half * math.sin(angle)
        ends = (x * size[0], y * size[1])
        first, last = (
            (round(ends[0] + way * across), round(ends[1] + way * down)) for way in (-1, 1)
        )
        cv2.line(ticks, first, last, 1, max(2, round(half / 4)))
    numbers[(ticks > 0) & on] = 0
    return Dots(blocks.amid(numbers, room), np.array(inks, np.uint8))


def _one_zone(shapes: "Shapes", zone: int, columns: int, rows: int) -> list[Content]:
    """Return a zone in quarters of cells on the pale ground of the rest of the wood.

    What is darker, and burned before, is a shade on the ground, so that eyes and edges
    tell where one is. Ticks in it show how to lay strokes, where cells have room for them.
    """
    import cv2
    import numpy as np

    labels = shapes.labels
    on = lit(labels == zone, columns * 2, rows * 2)
    inside = lit(labels > 0, columns * 2, rows * 2)
    before = ((labels > 0) & (labels < zone)).astype(np.float32)
    darker = cv2.resize(before, (columns, rows), interpolation=cv2.INTER_AREA) >= 0.5
    full = np.asarray(on.reshape(rows, 2, columns, 2).all(axis=(1, 3)), np.bool_)
    ticks = _ticks_in_cells(shapes.ways, columns, rows)
    lines_ = []
    for y in range(rows):
        runs: list[tuple[str, str]] = []
        for x in range(columns):
            cell = on[2 * y : 2 * y + 2, 2 * x : 2 * x + 2].ravel()
            wood = bool(inside[2 * y : 2 * y + 2, 2 * x : 2 * x + 2].any())
            letter = _QUARTERS[sum(int(dot) << n for n, dot in enumerate(cell))]
            ground = "$wood-burned" if darker[y, x] else "$wood"
            style = f"$foreground on {ground}" if wood else ""
            if full[y, x] and (y, x) in ticks:
                letter, style = ticks[y, x], "$background on $foreground"
            if runs and runs[-1][1] == style:
                runs[-1] = runs[-1][0] + letter, style
            else:
                runs.append((letter, style))
        lines_.append(Content.assemble(*runs))
    return lines_


def _ticks_in_cells(
    ways: Sequence[tuple[float, float, float]], columns: int, rows: int
) -> dict[tuple[int, int], str]:
    """Return a stroke for the row and column of each tick, none in a cell beside another's."""
    return {
        cell: _STROKES[round(angle / (math.pi / 4)) % 4]
        for cell, (_, _, angle) in _thinned(ways, columns, rows).items()
    }


def _thinned(
    ways: Sequence[tuple[float, float, float]], columns: int, rows: int
) -> dict[tuple[int, int], tuple[float, float, float]]:
    """Return the ticks by row and column, none in a cell beside another's."""
    found: dict[tuple[int, int], tuple[float, float, float]] = {}
    for x, y, angle in ways:
        row, column = min(int(y * rows), rows - 1), min(int(x * columns), columns - 1)
        around = itertools.product(range(row - 1, row + 2), range(column - 1, column + 2))
        if not any(cell in found for cell in around):
            found[row, column] = x, y, angle
    return found


def lit(mask: "npt.NDArray[np.bool_]", width: int, height: int) -> "npt.NDArray[np.bool_]":
    """Return a mask in fewer dots; of an island too small for one, the fullest is lit.

    Parameters
    ----------
    mask : ndarray of bool, shape (H, W)
    width, height : int
        Dots.
    """
    import cv2
    import numpy as np

    share = cv2.resize(mask.astype(np.float32), (width, height), interpolation=cv2.INTER_AREA)
    found: npt.NDArray[np.bool_] = share >= 0.5
    count, islands = cv2.connectedComponents(mask.astype(np.uint8))
    tall, across = mask.shape
    for island in range(1, count):
        ys, xs = np.nonzero(islands == island)
        dots = ys * height // tall, xs * width // across
        if not found[dots].any():
            at = int(np.argmax(share[dots]))
            found[dots[0][at], dots[1][at]] = True
    return found


def _all_zones(shapes: "Shapes", columns: int, rows: int) -> list[Content]:
    """Return all zones in their tones, two to a cell."""
    tall, across = shapes.labels.shape
    lines_ = []
    for y in range(rows):
        cells: list[tuple[str, str]] = []
        for x in range(columns):
            at = int((x + 0.5) * across / columns)
            above, below = (
                shapes.tones.get(int(shapes.labels[int((2 * y + n + 0.5) * tall / rows / 2), at]))
                for n in (0, 1)
            )
            cells.append(_half(above, below))
        lines_.append(Content.assemble(*cells))
    return lines_


def _half(above: str | None, below: str | None) -> tuple[str, str]:
    if above and below:
        return "▀", f"{above} on {below}"
    if above or below:
        return ("▀", above) if above else ("▄", below or "")
    return " ", ""
