"""Letters to a client on paper.

A plain page: the studio and what the letter is at the head, a ribbon of tones
from burned to bare wood as the only ornament, figures in one column that lines
up at the right edge.
"""

import functools
import os
from collections.abc import Callable, Sequence
from pathlib import Path

from burnplan.desk.derived.studio_settings import Paper as PaperName
from burnplan.desk.derived.studio_settings import Settings
from burnplan.files import written_whole
from burnplan.sheets.drawing import HAIR, INK, RGB, SOFT, Align, Drawing, new_pdf
from burnplan.sheets.lettering import BOLD, POINTS_PER_MM, REGULAR, Typesetter
from burnplan.sheets.money.letter import (
    Figures,
    Grid,
    Letter,
    Prose,
    Row,
    Signature,
    SmallPrint,
    Spelling,
    Weight,
)
from burnplan.sheets.paper import A4, LETTER, Box, Paper
from burnplan.sheets.writing import Written

BURNT: RGB = (134, 66, 32)
_TONES: tuple[RGB, ...] = (
    (58, 34, 22),
    (92, 54, 32),
    (126, 78, 46),
    (158, 106, 66),
    (186, 138, 94),
    (208, 168, 126),
    (225, 195, 158),
    (238, 219, 190),
    (246, 235, 216),
)

_SIDE, _TOP, _FOOT = 24.0, 20.0, 24.0
_LABEL, _SMALL, _BODY, _TITLE, _KIND = 8.0, 8.4, 10.0, 19.0, 24.0
_MOST_ADDRESS_LINES = 8
_SPREADS = (1.0, 0.85, 0.7)
_LAST_ROWS = 4  # that stay together: one more than net, tax and total

Mark = Callable[[Drawing], object]


def letter_paper(settings: Settings) -> Paper:
    """Return the paper for letters: A4, or Letter where the studio's paper is American."""
    american = settings.paper in (PaperName.LETTER, PaperName.TABLOID)
    return LETTER if american else A4


@functools.cache
def _can_set(text: str) -> bool:
    typesetter = Typesetter()
    typesetter.runs(text)
    return not typesetter.notes


def print_spelling(currency: str, locale: str) -> Spelling:
    """Return the spelling of amounts and dates for print."""
    return Spelling(currency, locale, _can_set)


def _leading(points: float) -> float:
    return points * 1.36 / POINTS_PER_MM


class _Flow:
    """Marks on pages, filled from the top down.

    What is drawn is kept until the number of pages is known. ``spread`` widens or
    narrows the gaps, so that a line or two too many need no page of their own.
    """

    def __init__(
        self,
        letter: Letter,
        paper: Paper,
        typesetter: Typesetter,
        spread: float,
        broken: dict[tuple[str, float, float, str], list[str]],
    ) -> None:
        self.letter = letter
        self.broken = broken  # text into lines; the same however wide the gaps are
        self.spread = spread
        self.paper = paper
        self.set = typesetter
        self.pages: list[list[Mark]] = []
        self.notes: list[str] = []
        self.left = _SIDE
        self.right = paper.width_mm - _SIDE
        self.bottom = paper.height_mm - _FOOT
        self.y = _TOP
        self.turn()

    @property
    def width(self) -> float:
        """Width of the text."""
        return self.right - self.left

    def turn(self) -> None:
        """Begin a page; all but the first have a short head."""
        self.pages.append([])
        self.y = _TOP
        if len(self.pages) > 1:
            named = " ".join(part for part in (self.letter.kind, self.letter.number) if part)
            self.text(self.left, self.y, f"{named}, continued", _SMALL, colour=SOFT)
            self.y += 3.0
            self.ribbon(self.y)
            self.y += 11.0

    def gap(self, height: float) -> None:
        """Leave room."""
        self.y += height * self.spread

    def need(self, height: float) -> None:
        """Turn the page unless so much room is left."""
        if self.y + height > self.bottom:
            self.turn()

    def mark(self, mark: Mark) -> None:
        """Draw something on the page in hand, later."""
        self.pages[-1].append(mark)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        points: float,
        *,
        weight: str = REGULAR,
        colour: RGB = INK,
        align: Align = Align.LEFT,
    ) -> None:
        """Set a line on a baseline."""
        self.mark(lambda d: d.text(x, y, text, points, weight=weight, colour=colour, align=align))

    def rule(
        self, x0: float, x1: float, y: float, colour: RGB = HAIR, weight: float = 0.18
    ) -> None:
        """Draw a line across."""

        def draw(drawing: Drawing) -> None:
            drawing.stroke(colour, weight)
            drawing.line(x0, y, x1, y)

        self.mark(draw)

    def ribbon(self, y: float) -> None:
        """Draw the tones from burned to bare wood across the page."""
        step = self.width / len(_TONES)

        def draw(drawing: Drawing) -> None:
            for number, tone in enumerate(_TONES):
                # A hair wider than its step, so that no white shows between two.
                over = 0.1 if number < len(_TONES) - 1 else 0.0
                box = Box(self.left + number * step, y, step + over, 1.1)
                drawing.box(box, fill=tone, stroke=False)

        self.mark(draw)

    def lines(self, text: str, width: float, points: float, weight: str = REGULAR) -> list[str]:
        """Break text into lines of a width; a word that is wider is broken too."""
        wanted = (text, width, points, weight)
        if wanted not in self.broken:
            self.broken[wanted] = self._lines(*wanted)
        return self.broken[wanted]

    def _lines(self, text: str, width: float, points: float, weight: str) -> list[str]:
        parts: list[str] = []
        for word in text.split():
            rest = word
            while self.set.width_mm(rest, points, weight) > width and len(rest) > 1:
                count = self._fitting(rest, width, points, weight)
                parts.append(rest[:count])
                rest = rest[count:]
            parts.append(rest)
        return self.set.lines(" ".join(parts), width, points, weight, most=len(text) + 1)

    def _fitting(self, word: str, width: float, points: float, weight: str) -> int:
        """How many letters of a word fit; at least one."""
        count = max(1, int(len(word) * width / self.set.width_mm(word, points, weight)))
        while count > 1 and self.set.width_mm(word[:count], points, weight) > width:
            count -= 1
        return count

    def heading(self, text: str, keep: float) -> None:
        """Set a heading that stays with what follows it."""
        self.need(6.5 + keep)
        if text:
            self.text(self.left, self.y + 2.8, text, _LABEL, weight=BOLD, colour=BURNT)
            self.y += 4.6


def write_letter(letter: Letter, path: str | os.PathLike[str], paper: Paper) -> Written:
    """Write a letter as a PDF; the same letter gives the same bytes.

    Raises
    ------
    BadInput
        If the folder does not exist.
    OperationFailed
        If the file cannot be written.
    """
    typesetter = Typesetter()
    flow = _laid_out(letter, paper, typesetter)
    with written_whole(path) as unfinished:
        title = " ".join(part for part in (letter.kind, letter.number) if part)
        canvas = new_pdf(
            unfinished, paper.width_mm, paper.height_mm, title=title, author=letter.studio
        )
        canvas.setSubject(letter.title)
        for number, marks in enumerate(flow.pages, start=1):
            drawing = Drawing(canvas, paper.height_mm, typesetter)
            for mark in marks:
                mark(drawing)
            _foot(drawing, flow, number)
            canvas.showPage()
        canvas.save()
    return Written(Path(path), len(flow.pages), (*flow.notes, *typesetter.notes))


def _laid_out(letter: Letter, paper: Paper, typesetter: Typesetter) -> _Flow:
    """Return the pages, with the widest gaps that make them no more than they must be."""
    broken: dict[tuple[str, float, float, str], list[str]] = {}
    flows = [_Flow(letter, paper, typesetter, spread, broken) for spread in _SPREADS]
    for flow in flows:
        _fill(flow)
    return min(flows, key=lambda flow: len(flow.pages))


def _fill(flow: _Flow) -> None:
    _head(flow)
    for section in flow.letter.sections:
        match section:
            case Figures():
                _figures(flow, section)
            case Prose():
                _prose(flow, section)
            case SmallPrint():
                _small_print(flow, section)
            case Grid():
                _grid(flow, section)
            case Signature():
                _signature(flow, section)


def _foot(drawing: Drawing, flow: _Flow, number: int) -> None:
    letter, y = flow.letter, flow.paper.height_mm - 12.0
    right = f"Page {number} of {len(flow.pages)}"
    width = drawing.text(flow.right, y, right, 7.5, colour=SOFT, align=Align.RIGHT)
    named = " ".join(part for part in (letter.kind, letter.number) if part)
    named = f"{named} · {letter.studio}"
    shown = flow.set.shortened(named, flow.width - width - 8, 7.5)
    drawing.text(flow.left, y, shown, 7.5, colour=SOFT)


def _head(flow: _Flow) -> None:
    """Studio and kind of letter, ribbon, whom it is for, facts, what it is about."""
    letter, top = flow.letter, flow.y
    flow.text(flow.right, top + 6, letter.kind, _KIND, colour=BURNT, align=Align.RIGHT)
    room = flow.width - flow.set.width_mm(letter.kind, _KIND) - 12
    y = top + 6
    for line in flow.lines(letter.studio, room, 14, BOLD):
        flow.text(flow.left, y, line, 14, weight=BOLD)
        y += _leading(14) * 0.95
    y -= 1.4
    for line in _address(flow, letter.sender.splitlines(), room, _SMALL, "studio's"):
        flow.text(flow.left, y, line, _SMALL, colour=SOFT)
        y += _leading(_SMALL)
    flow.y = max(y, top + 11.5)
    flow.ribbon(flow.y)
    flow.gap(10)
    _for_and_facts(flow)
    if letter.mark:
        flow.text(flow.left, flow.y + 3, letter.mark, 11, weight=BOLD, colour=BURNT)
        flow.y += 9
    if letter.title:
        points = _TITLE if len(flow.lines(letter.title, flow.width, _TITLE, BOLD)) < 3 else 14.0
        for line in flow.lines(letter.title, flow.width, points, BOLD):
            flow.text(flow.left, flow.y + points * 0.26, line, points, weight=BOLD)
            flow.y += _leading(points) * 0.9
    if letter.detail:
        flow.y += 1.0
        for line in flow.lines(letter.detail, flow.width, _BODY):
            flow.text(flow.left, flow.y + 2.6, line, _BODY, colour=SOFT)
            flow.y += _leading(_BODY)
    flow.gap(7)


def _address(
    flow: _Flow, said: Sequence[str], width: float, points: float, whose: str
) -> list[str]:
    """Return the lines of an address, no more than a page has room for."""
    lines = [line for part in said for line in flow.lines(part, width, points)]
    if len(lines) > _MOST_ADDRESS_LINES:
        flow.notes.append(f"The {whose} address was cut to {_MOST_ADDRESS_LINES} lines")
    return lines[:_MOST_ADDRESS_LINES]


def _for_and_facts(flow: _Flow) -> None:
    letter, top = flow.letter, flow.y
    facts = [*([("Number", letter.number)] if letter.number else []), *letter.facts]
    labels = max((flow.set.width_mm(label, _SMALL) for label, _ in facts), default=0.0) + 6
    values = max((flow.set.width_mm(value, _BODY) for _, value in facts), default=0.0) + 0.1
    facts_width = min(labels + values, flow.width * 0.5)
    x = flow.right - facts_width
    y = top + 3
    for label, value in facts:
        flow.text(x, y, label, _SMALL, colour=SOFT)
        for line in flow.lines(value, facts_width - labels, _BODY) or [""]:
            flow.text(x + labels, y, line, _BODY)
            y += _leading(_BODY) * 1.06
    lowest = y
    room = min(flow.width - facts_width - 10, 95.0)
    y = top + 3
    if letter.recipient:
        flow.text(flow.left, y, "For", _SMALL, colour=SOFT)
        y += _leading(_BODY)
    name, address = letter.recipient[:1], letter.recipient[1:]
    for line in (part for one in name for part in flow.lines(one, room, _BODY, BOLD)):
        flow.text(flow.left, y, line, _BODY, weight=BOLD)
        y += _leading(_BODY)
    for line in _address(flow, address, room, _BODY, "client's"):
        flow.text(flow.left, y, line, _BODY)
        y += _leading(_BODY)
    flow.y = max(y, lowest)
    flow.gap(8)


# Sections ---------------------------------------------------------------------------


def _figures(flow: _Flow, section: Figures) -> None:
    """Set rows of figures; a sum is not torn from what it sums up."""
    heights = [_row_height(flow, row) for row in section.rows]
    whole = sum(heights)
    fits = whole < (flow.bottom - _TOP) / 2
    flow.heading(section.heading, whole if fits else sum(heights[:2]))
    for number, row in enumerate(section.rows):
        if len(section.rows) - number == _LAST_ROWS:
            flow.need(sum(heights[number:]))
        _row(flow, row, first=number == 0)
    flow.gap(6)


def _row_set(flow: _Flow, row: Row) -> tuple[list[str], float, str]:
    """Return the lines of a row's label, and the size and weight of its type."""
    points, weight = (13.0, BOLD) if row.weight is Weight.TOTAL else (_BODY + 0.5, REGULAR)
    room = flow.width - flow.set.width_mm(row.amount, points, weight) - 8
    return flow.lines(row.label, room, points, weight), points, weight


def _row_height(flow: _Flow, row: Row) -> float:
    lines, points, _ = _row_set(flow, row)
    one = 5.2 + flow.spread * (4.2 if row.weight is Weight.TOTAL else 1.2)
    return one + (len(lines) - 1) * _leading(points)


def _row(flow: _Flow, row: Row, *, first: bool) -> None:
    total = row.weight is Weight.TOTAL
    labels, points, weight = _row_set(flow, row)
    height = _row_height(flow, row)
    flow.need(height)
    if total:
        flow.rule(flow.left, flow.right, flow.y + 0.4, INK, 0.35)
    else:
        summed = row.weight is Weight.SUM and not first
        flow.rule(flow.left, flow.right, flow.y, SOFT if summed else HAIR)
    y = flow.y + (5.5 + flow.spread if total else 3.8 + flow.spread * 0.7)
    for number, line in enumerate(labels):
        flow.text(flow.left, y + number * _leading(points), line, points, weight=weight)
    y += (len(labels) - 1) * _leading(points)
    flow.text(flow.right, y, row.amount, points, weight=weight, align=Align.RIGHT)
    flow.y += height


def _prose(flow: _Flow, section: Prose) -> None:
    flow.heading(section.heading, _leading(_BODY) * 2)
    for paragraph in section.text.splitlines():
        for line in flow.lines(paragraph, min(flow.width, 140.0), _BODY) or [""]:
            flow.need(_leading(_BODY))
            flow.text(flow.left, flow.y + 3, line, _BODY)
            flow.y += _leading(_BODY)
    flow.gap(5)


def _small_print(flow: _Flow, section: SmallPrint) -> None:
    """Terms in two columns of about one height; none is torn apart."""
    gap = 9.0
    width = (flow.width - gap) / 2
    lead = _leading(_SMALL)
    blocks = [(name, flow.lines(said, width, _SMALL)) for name, said in section.items]
    heights = [(len(lines) + 1) * lead + 1.8 for _, lines in blocks]
    # Of all places to begin the second column, the one that makes the taller one least tall.
    split = min(
        range(1, len(blocks) + 1), key=lambda cut: max(sum(heights[:cut]), sum(heights[cut:]))
    )
    flow.heading(section.heading, max(sum(heights[:split]), sum(heights[split:])))
    top = flow.y + 1
    lowest = top
    for column, part in enumerate((blocks[:split], blocks[split:])):
        x, y = flow.left + column * (width + gap), top
        for name, lines in part:
            flow.text(x, y + 2.6, name, _SMALL, weight=BOLD)
            for line in lines:
                y += lead
                flow.text(x, y + 2.6, line, _SMALL)
            y += lead + 1.8
        lowest = max(lowest, y)
    flow.y = lowest
    flow.gap(3)


def _signature(flow: _Flow, section: Signature) -> None:
    """Set what is to be signed at the foot of the page."""
    lines = flow.lines(section.sentence, flow.width, _BODY)
    height = 4 + len(lines) * _leading(_BODY) + 18
    alone = flow.y + height > flow.bottom
    flow.need(height)
    foot = flow.y + height if alone else flow.bottom
    flow.y = foot - height
    flow.rule(flow.left, flow.right, flow.y)
    y = flow.y + 7
    for line in lines:
        flow.text(flow.left, y, line, _BODY)
        y += _leading(_BODY)
    gap = 9.0
    count = len(section.blanks)
    width = (flow.width - gap * (count - 1)) / max(1, count)
    base = foot - 3
    for number, blank in enumerate(section.blanks):
        x = flow.left + number * (width + gap)
        flow.rule(x, x + width, base, SOFT, 0.25)
        flow.text(x, base + 3.6, blank, 7.5, colour=SOFT)
    flow.y = foot


def _grid(flow: _Flow, section: Grid) -> None:
    """Set a table of amounts; its head comes again on every page."""
    names = max(flow.set.width_mm(name, _BODY, BOLD) for name, _ in section.rows)
    first = min(max(names, 24.0), flow.width * 0.32) + 4
    column = (flow.width - first) / len(section.heads)
    points = _grid_points(flow, section, column - 3)

    def right_of(number: int) -> float:
        return flow.left + first + column * (number + 1)

    def head() -> None:
        flow.text(flow.left, flow.y + 3, section.corner, _SMALL, colour=SOFT)
        for number, text in enumerate(section.heads):
            flow.text(right_of(number), flow.y + 3, text, points, weight=BOLD, align=Align.RIGHT)
        flow.y += 5.2
        flow.rule(flow.left, flow.right, flow.y, INK, 0.35)

    flow.need(20)
    head()
    for name, amounts in section.rows:
        lines = flow.lines(name, first - 4, _BODY, BOLD)
        height = 7.4 + (len(lines) - 1) * _leading(_BODY)
        if flow.y + height > flow.bottom:
            flow.turn()
            head()
        for number, line in enumerate(lines):
            y = flow.y + 5.0 + number * _leading(_BODY)
            flow.text(flow.left, y, line, _BODY, weight=BOLD)
        for number, amount in enumerate(amounts):
            flow.text(right_of(number), flow.y + 5.0, amount, points, align=Align.RIGHT)
        flow.y += height
        flow.rule(flow.left, flow.right, flow.y)
    flow.gap(8)


def _grid_points(flow: _Flow, section: Grid, room: float) -> float:
    """Size of type at which the widest amount fits; no amount is ever cut."""
    widest = max(
        flow.set.width_mm(text, _BODY, BOLD)
        for text in (*section.heads, *(amount for _, amounts in section.rows for amount in amounts))
    )
    return min(_BODY, _BODY * room / widest)
