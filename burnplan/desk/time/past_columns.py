"""What a column of a table of past jobs can be, how its cells are read, and how one tells so.

Which column is what is found out in :mod:`burnplan.desk.time.past_understood`.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from burnplan.desk.time import past_cells
from burnplan.desk.time.past_cells import CellForm, is_nothing
from burnplan.errors import BadInput
from burnplan.outline import Outline
from burnplan.units import MOST_HOURS

ASIDE = "aside"
HOURS = ("prepare_h", "transfer_h", "burn_h", "finish_h")
TOTAL = "total_h"
LENGTHS = ("size", "diameter", "width", "height")
MEANINGS = {
    "title": "title",
    "finished_on": "day it was finished",
    "size": "width and height",
    "diameter": "size of round pieces",
    "width": "width",
    "height": "height",
    "outline": "outline",
    "species": "wood",
    "darkness": "darkness",
    "texture": "detail",
    "line_cm": "length of traced lines, cm",
    "prepare_h": "hours of preparing",
    "transfer_h": "hours of tracing",
    "burn_h": "hours of burning",
    "finish_h": "hours of finishing",
    TOTAL: "hours in all",
    "price": "price",
    "covers": "what the hours in all cover",
    "covered": "share of the face that is burned",
}
"""What a column can be, as it is told and as it is said."""

FORMS = {
    "finished_on": ("day-first", "month-first"),
    **dict.fromkeys(LENGTHS, ("mm", "cm", "in")),
    **dict.fromkeys((*HOURS, TOTAL), ("h", "min")),
}
"""What may be told beside that: how its cells are meant."""

# Columns of the program's own files: what they mean, and their unit.
OWN = {"width_mm": ("width", "mm"), "height_mm": ("height", "mm")}
# Nothing but words is longer; and patterns take their time on what is long.
LONGEST = 200  # a limit by definition


@dataclass(frozen=True)
class Column:
    """A column of the table, and what it is taken for.

    Parameters
    ----------
    place : int
        From 0.
    letter, heading : str
        As a spreadsheet names it, and its own; nothing where it has none.
    meaning : str
        One of MEANINGS, or ASIDE.
    form : CellForm
    own : bool
        Whether it is called as in the program's own files: they are exact.
    twice : bool
        Whether another column has the same heading.
    """

    place: int
    letter: str
    heading: str
    meaning: str
    form: CellForm
    own: bool = False
    twice: bool = False

    @property
    def called(self) -> str:
        """The heading, or the letter where it has none of its own."""
        return self.letter if self.twice else self.heading or self.letter

    def told(self, meaning: str = "", form: str = "") -> str:
        """Return how one tells what it is."""
        return f"{self.called}={meaning or self.meaning}{f':{form}' if form else ''}"


def told_columns(text: str) -> list[tuple[str, str, str]]:
    """Read what was told of columns: heading, meaning and form of each.

    Raises
    ------
    BadInput
        If it is not in the form ``Finished=finished_on,Hours total=total_h``.

    Examples
    --------
    >>> told_columns("Size, about=size:in,Finished=finished_on")
    [('Size, about', 'size', 'in'), ('Finished', 'finished_on', '')]
    """
    found = []
    rest = text.strip()
    while rest:
        match = re.match(r"(.+?)=\s*(\w+)(?::([\w-]+))?\s*(?:,|$)", rest, re.DOTALL)
        if match is None:
            raise BadInput(f"'{rest}' does not say what a column is", _EXAMPLE)
        heading, meaning, form = match[1].strip(), match[2].lower(), (match[3] or "").lower()
        if meaning in OWN:
            meaning, form = OWN[meaning][0], form or OWN[meaning][1]
        if meaning != ASIDE and meaning not in MEANINGS:
            raise BadInput(
                f"'{match[2]}' is nothing that a column can be",
                f"It is one of {', '.join((*MEANINGS, ASIDE))}",
            )
        if form and form not in FORMS.get(meaning, ()):
            raise BadInput(f"'{form}' is no way to read {meaning}", _EXAMPLE)
        found.append((heading, meaning, form))
        rest = rest[match.end() :]
    return found


_EXAMPLE = "Write it like Finished=finished_on,Hours total=total_h,Size=size:in,Notes=aside"


_READERS: dict[str, Callable[[str, CellForm], Any]] = {
    "size": past_cells.size,
    "diameter": past_cells.diameter,
    "width": past_cells.length,
    "height": past_cells.length,
    "outline": past_cells.shape,
    "species": past_cells.wood,
    "darkness": past_cells.darkness,
    "texture": past_cells.texture,
    "covers": past_cells.covers,
    "covered": past_cells.covered,
    "line_cm": past_cells.figure,
    **dict.fromkeys((*HOURS, TOTAL), past_cells.hours),
    "price": past_cells.amount,
}


def _plain_amount(cell: str) -> Decimal:
    value = Decimal(cell)
    if not value.is_finite():
        raise ValueError(cell)
    return value


# In the program's own files these are written so, and no other way comes first.
_EXACT: dict[str, Callable[[str], Any]] = {
    "finished_on": date.fromisoformat,
    "price": _plain_amount,
    **dict.fromkeys(("width", "height", "line_cm", *HOURS, TOTAL), float),
}
_LIMITS: dict[str, tuple[float, float, str]] = {
    "width": (Outline.MIN_MM, Outline.MAX_MM, " mm"),
    "height": (Outline.MIN_MM, Outline.MAX_MM, " mm"),
    "line_cm": (0, 1e7, " cm"),  # by definition, as the next ones
    **dict.fromkeys((*HOURS, TOTAL), (0.0, MOST_HOURS, " h")),
    "price": (0, 1e10, ""),
}


def read(column: Column, cell: str, today: date) -> Any:
    """Return what a cell says: an outline for a size, millimetres for a length; None for nothing.

    Raises
    ------
    BadInput
        If it cannot be read as what its column is.
    """
    if column.meaning == "title":
        return past_cells.title(cell)
    if is_nothing(cell):
        return None
    if len(cell) > LONGEST:
        raise BadInput(f"It has more than {LONGEST} letters", "Shorten it")
    value = _exact(column, cell)
    if value is None:
        if column.meaning == "finished_on":
            value = past_cells.day(cell, today, column.form)
        else:
            value = _READERS[column.meaning](cell, column.form)
    if column.meaning in _LIMITS:
        least, most, unit = _LIMITS[column.meaning]
        if not least <= value <= most:
            raise BadInput(f"'{cell}' is not from {least:,.0f} to {most:,.0f}{unit}", "Check it")
    return value


def _exact(column: Column, cell: str) -> Any:
    if column.own and column.meaning in _EXACT:
        try:
            return _EXACT[column.meaning](cell)
        except (ArithmeticError, ValueError):
            pass  # then it is as people write it
    return None
