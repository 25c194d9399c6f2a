"""The lettering sheet: every word large, for the client to check and confirm in writing."""

import os
from collections.abc import Sequence
from pathlib import Path

from burnplan.sheets.drawing import HAIR, INK, SOFT, Drawing, one_page
from burnplan.sheets.flowing import Compositor, gap, place
from burnplan.sheets.jobs.panel import Facts
from burnplan.sheets.lettering import BOLD
from burnplan.sheets.paper import A4, Paper, SheetPage
from burnplan.sheets.writing import Written
from burnplan.tone.letters import OUTLINE_MM, Letters
from burnplan.units import MM_PER_POINT

_MARGIN = 18.0
_LARGEST = 4.0  # times that lettering is enlarged at most
_PLAIN_POINTS, _PITCH = 30.0, 1.4  # of plain type, whose capitals are about 7 mm high; its lines
_SIGN_MM = 38.0  # kept free at the foot
_ASK = (
    "Please read every letter, figure and accent, one by one, and answer in writing whether"
    " it is right. What is burned into wood cannot be put right afterwards."
)


def lettering_sheet(
    path: str | os.PathLike[str],
    letters: Sequence[Letters],
    facts: Facts,
    *,
    paper: Paper = A4,
) -> Written:
    """Write what is lettered as PDF: as it will be burned, enlarged, and in plain type.

    It is never mirrored: it is read, not laid on wood.
    """
    setter = Compositor()
    title = " · ".join(part for part in (facts.title, "Lettering") if part)
    with one_page(path, SheetPage(paper), setter, title=title, author=facts.studio) as drawing:
        width = paper.width_mm - 2 * _MARGIN
        about = " · ".join(filter(None, (facts.code, facts.date, facts.studio)))
        head = [
            setter.text(about, 8, colour=SOFT),
            setter.line(facts.title or "Lettering", width, 18, BOLD),
            gap(2),
            setter.text(_ASK, 10, leading=1.3),
        ]
        y = place(drawing, _MARGIN, _MARGIN, width, head) + 8
        room = paper.height_mm - y - _MARGIN - _SIGN_MM
        lines = sum(len(one.lines) for one in letters)
        for one in letters:
            own = room * len(one.lines) / lines
            _draw_one(drawing, one, y, width, own)
            y += own
        _draw_signing(drawing, paper, width)
    return Written(Path(path), 1, setter.notes)


def _draw_one(drawing: Drawing, one: Letters, y: float, width: float, room: float) -> None:
    """Draw a lettering as it will be burned, then each of its lines in plain type."""
    air = min(6.0, 0.15 * room)
    half = room / 2 - air  # plain type takes no more room than the lettering itself
    widest = max(drawing.typesetter.width_mm(line, _PLAIN_POINTS) for line in one.lines)
    plain = len(one.lines) * _PITCH * _PLAIN_POINTS * MM_PER_POINT
    smaller = min(1.0, width / widest, half / plain)
    left, top, right, bottom = one.box
    high = room - 2 * air - plain * smaller
    scale = min(_LARGEST, width / (right - left), high / (bottom - top))
    shown = [(ring - (left, top)) * scale + (_MARGIN, y) for ring in one.rings]
    if one.filled:
        drawing.filled(shown, INK)
    else:
        drawing.canvas.setLineJoin(1)
        drawing.stroke(INK, OUTLINE_MM * scale)
        drawing.paths((ring, True) for ring in shown)
    y += (bottom - top) * scale + air
    drawing.stroke(HAIR, 0.2)
    drawing.line(_MARGIN, y, _MARGIN + width, y)
    for line in one.lines:
        y += plain * smaller / len(one.lines)
        drawing.text(_MARGIN, y, line, _PLAIN_POINTS * smaller, colour=SOFT)


def _draw_signing(drawing: Drawing, paper: Paper, width: float) -> None:
    y = paper.height_mm - _MARGIN - 8
    half = (width - 10) / 2
    drawing.stroke(INK, 0.2)
    for x, said in ((_MARGIN, "Right as it stands: name"), (_MARGIN + half + 10, "Date")):
        drawing.line(x, y, x + half, y)
        drawing.text(x, y + 4.5, said, 8, colour=SOFT)
