"""What the columns of a table of past jobs mean: by their headings, by their cells, or as told.

A heading is looked up by its words, in several languages, and believed where its cells can
be read so. A column without a known heading is taken for what its cells can only be. Where
two readings are as good as each other there is a question.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import cache, partial
from statistics import median
from typing import Any

from burnplan.cleaned import cleaned_line
from burnplan.dates import month_first
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.time import past_cells
from burnplan.desk.time.past_cells import (
    CellForm,
    all_words,
    date_order,
    decimal_mark,
    is_nothing,
    known_words,
    spelled,
)
from burnplan.desk.time.past_text import TextTable
from burnplan.errors import BadInput
from burnplan.outline import Outline
from burnplan.units import UnitSystem
from burnplan.wood.species import species_on_record

ASIDE = "aside"
HOURS = ("prepare_h", "transfer_h", "burn_h", "finish_h")
TOTAL = "total_h"
MOST_HOURS = 5000.0  # a limit by definition
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
_OWN = {"width_mm": ("width", "mm"), "height_mm": ("height", "mm")}
# How much of a column must be readable for what its heading says (our own choice), and for
# what no heading says.
_MOST_OF_IT, _NEARLY_ALL = 0.5, 0.7
_NEEDED = ("title", "width_mm", "height_mm")
_OURS = frozenset((*MEANINGS, *_OWN)) - frozenset(LENGTHS)
# What the cells of a column without a known heading show, that it is taken for.
_TELLING = {
    "size": r"\d.*[x×*]\s*\d",
    "finished_on": r"\d\D+\d|[^\W\d]{3}.*\d{4}",
    "price": r"[$€£¥₹]|\b[A-Z]{3}\b",
    "species": r"[^\W\d]",
}
_CURRENCY = re.compile(r"\W*[$€£¥₹]\W*")
# Of lengths, as a heading has them.
_UNITS = ("mm", "cm", "in", "inch", "inches")
_DATE_LIKE = re.compile(r"\d[./-]\s?\d{1,2}[./-]\s?\d")
_BARE = re.compile(r"[\d\s.,/½¼¾x×*X-]+")
# Rows that may stand above the headings.
_TOP = 15  # a limit by definition
# Nothing but words is longer; and patterns take their time on what is long.
_LONGEST = 200  # a limit by definition
# Cells of a column that are tried.
_TRIED = 200  # a guess
# Longer than this in cm, a middling piece is measured in mm; longer in inches too (a guess).
_LONG_CM, _LONG_IN = 80.0, 60.0


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


@dataclass(frozen=True)
class Question:
    """What could be two things: answers as they are told and in words, the likeliest first."""

    about: str
    answers: tuple[tuple[str, str], ...]
    sure_enough: bool = True


@dataclass(frozen=True)
class Understanding:
    """What a table says: its columns, where its jobs begin, and what was not clear."""

    columns: tuple[Column, ...]
    jobs: list[tuple[int, list[str]]]
    heading_row: int | None
    questions: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()

    def column(self, meaning: str) -> Column | None:
        """Return the column of a meaning, if there is one."""
        return next((one for one in self.columns if one.meaning == meaning), None)

    @property
    def own_form(self) -> bool:
        """Whether it is as the program's own files are."""
        return all(column.own or column.meaning == ASIDE for column in self.columns)


def letter_of(place: int) -> str:
    """Return what spreadsheets call a column: A, B … Z, AA."""
    first, last = divmod(place, 26)
    return (letter_of(first - 1) if first else "") + chr(ord("A") + last)


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
        if meaning in _OWN:
            meaning, form = _OWN[meaning][0], form or _OWN[meaning][1]
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


# --- one cell ------------------------------------------------------------------------------

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
    if len(cell) > _LONGEST:
        raise BadInput(f"It has more than {_LONGEST} letters", "Shorten it")
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


# --- headings ------------------------------------------------------------------------------

# How well a heading names something: wholly, by how many words, and how sure the name is.
_Score = tuple[bool, int, int]
_MOST_WORDS = 8  # a guess: more is a sentence
_PAIRED = ({"w", "b", "width", "breite", "wide"}, {"h", "height", "hohe", "high"})


def _words(heading: str) -> list[str]:
    return re.findall(r"[^\W_]+|\"", spelled(heading))


def _unit(words: Iterable[str], *units: str) -> str:
    """Return the unit, of these, that a heading names; 'in' is also a word."""
    found = [unit for unit in units if known_words("units")[unit] & set(words)]
    return next((unit for unit in found if unit != "in"), "in" if found else "")


@cache
def _names() -> dict[str, list[tuple[frozenset[str], int]]]:
    """Return the names of each meaning, as words, the surest with the highest rank."""
    return {
        meaning: [
            (frozenset(name.split()), -rank)
            for rank, name in enumerate(" ".join(words.split()).split("|"))
        ]
        for meaning, words in all_words()["names"].items()
    }


def _about_others(heading: str) -> bool:
    """Return whether it is about something else than the past jobs' own facts."""
    return bool(known_words("others") & set(_words(heading)))


def _named(heading: str, beside: Sequence[str]) -> dict[str, _Score]:
    """Return what a heading can mean, of a table that has other ones beside it."""
    exact = heading.strip().lower()
    if exact in MEANINGS or exact in _OWN:
        return {_OWN.get(exact, (exact,))[0]: (True, 9, 0)}
    words = frozenset(_words(heading))
    if not words and _CURRENCY.fullmatch(exact):
        return {"price": (True, 1, 0)}
    if not words or _about_others(heading) or len(words) > _MOST_WORDS:
        return {}
    side = words - set(_UNITS) or words
    if side <= {"w", "b", "h"}:
        others = {word for one in beside for word in _words(one)}
        if all(others & side for side in _PAIRED):
            return {"height" if side == {"h"} else "width": (True, 1, 0)}
        return {TOTAL: (True, 1, -9)} if words == {"h"} else {}
    hours = known_words("hours")
    idle = hours["in_all"].union(*known_words("units").values())
    found: dict[str, _Score] = {}
    for meaning, names in _names().items():
        scores = [(words <= name | idle, len(name), rank) for name, rank in names if name <= words]
        if scores:
            found[meaning] = max(scores)
    if words == {"total"}:
        found[TOTAL] = found["price"]
    spent = words & (hours["sure"] | hours["perhaps"])
    rest = words - spent - hours["in_all"]
    stages = [stage for stage, names in known_words("stages").items() if rest & names]
    if len(stages) == 1:
        only = rest <= known_words("stages")[stages[0]]
        found[stages[0]] = (only, 2, 0) if spent else (only, 1, -9)
    elif spent and not stages:
        found[TOTAL] = (not rest, len(words - rest), 0 if spent & hours["sure"] else -5)
    return found


def _heading_row(rows: Sequence[tuple[int, list[str]]]) -> int | None:
    """Return which of the rows has the headings; None if there are none."""
    for place, (_, cells) in enumerate(rows[:_TOP]):
        filled = [cell for cell in cells if cell]
        known = sum(bool(_named(cell, cells)) for cell in filled)
        if known > 1 and not any(map(_is_figure, filled)):
            return place
    for place, (_, cells) in enumerate(rows[:_TOP]):
        filled = [cell for cell in cells if cell]
        if len(filled) > 1:
            return None if any(map(_is_figure, filled)) else place
    return None


def _is_figure(cell: str) -> bool:
    return re.match(r"[^\w\s]{0,2}\s?\d", cell) is not None


# --- all of it -----------------------------------------------------------------------------


def understand(
    table: TextTable, settings: Settings, today: date, told: Sequence[tuple[str, str, str]] = ()
) -> Understanding:
    """Return what the columns of a table are.

    Parameters
    ----------
    table : TextTable
    settings : Settings
        The studio's: units, currency, and the locale that decides where cells leave a doubt.
    today : date
    told : sequence of (str, str, str)
        Of :func:`told_columns`; of what is told twice the last counts.

    Raises
    ------
    BadInput
        If something is told of a column that is not there, or is there twice.
    """
    top = _heading_row(table.rows)
    jobs = table.rows[0 if top is None else top + 1 :]
    if top is None:
        headings = [""] * max((len(cells) for _, cells in jobs[:_TRIED]), default=0)
    else:
        headings = [cleaned_line(cell) for cell in table.rows[top][1]]
    sample = [
        [
            cells[n][:_LONGEST]
            for _, cells in jobs[:_TRIED]
            if n < len(cells) and not is_nothing(cells[n])
        ]
        for n in range(len(headings))
    ]
    guess = _Guess(_columns(headings, sample, table, settings), sample, settings, today)
    guess.tell(told)
    guess.by_headings()
    guess.by_cells()
    guess.ask_forms()
    guess.ask_what_is_missing()
    row = None if top is None else table.rows[top][0]
    return Understanding(
        tuple(guess.columns), jobs, row, tuple(guess.questions), tuple(guess.unlike_their_names())
    )


def _columns(
    headings: Sequence[str], sample: Sequence[Sequence[str]], table: TextTable, settings: Settings
) -> list[Column]:
    """Return the columns before anything is known of them but how their cells are written."""
    from babel.numbers import get_decimal_symbol

    names = [heading.lower() for heading in headings]
    ours = all(name in names for name in _NEEDED)
    twice = {name for name in names if ours and name in _OURS and names.count(name) > 1}
    if twice:
        raise BadInput(f"The table has {' and '.join(sorted(twice))} twice", "Keep one")
    figures = [cell for cells in sample for cell in cells if not _DATE_LIKE.search(cell)]
    usual = "," if table.separator == ";" else get_decimal_symbol(settings.locale)
    common = decimal_mark(figures) or usual
    made = []
    for place, (heading, cells) in enumerate(zip(headings, sample, strict=True)):
        order, needed = date_order(cells)
        if needed:
            order = "month-first" if month_first(settings.locale) else "day-first"
        words = _words(heading)
        form = CellForm(
            settings.currency,
            settings.locale,
            decimal_mark(cells) or common,
            _unit(words, "mm", "cm", "in") or _likely_unit(cells, settings.units),
            order,
            minutes=_unit(words, "h", "min") == "min",
            by_eye=not ours and bool(set(cells) - {"1"}) and set(cells) <= set("123456"),
        )
        own = ours and heading.lower() in _OURS
        again = names.count(heading.lower()) > 1
        made.append(Column(place, letter_of(place), heading, ASIDE, form, own, again))
    return made


def _likely_unit(cells: Sequence[str], units: UnitSystem) -> str:
    """Return the unit of lengths without one: the studio's, or mm where they are many."""
    found = [float(figure) for cell in cells for figure in re.findall(r"\d{1,5}", cell)]
    imperial = units is UnitSystem.IMPERIAL
    if found and median(found) > (_LONG_IN if imperial else _LONG_CM):
        return "mm"
    return "in" if imperial else "cm"


@dataclass
class _Guess:
    """What the columns are taken for, while it is found out."""

    columns: list[Column]
    sample: Sequence[Sequence[str]]
    settings: Settings
    today: date
    questions: list[Question] = field(default_factory=list)
    told: dict[int, str] = field(default_factory=dict)

    def tell(self, told: Sequence[tuple[str, str, str]]) -> None:
        """Take what somebody says that they are."""
        for heading, meaning, form in told:
            wanted = " ".join(heading.lower().split())
            found = [c for c in self.columns if c.called.lower() == wanted] or [
                c for c in self.columns if c.letter.lower() == wanted
            ]
            if not found:
                there = ", ".join(column.called for column in self.columns)
                raise BadInput(f"There is no column '{heading}'", f"There are {there}")
            self._take(found[0], meaning)
            self.told[found[0].place] = form
            if form:
                self._reform(found[0].place, form)
        meant = [self.columns[place].meaning for place in self.told]
        twice = next((one for one in meant if one != ASIDE and meant.count(one) > 1), None)
        if twice is not None:
            raise BadInput(f"Two columns cannot both be {twice}", "Say it of one of them")

    def _reform(self, place: int, form: str) -> None:
        column = self.columns[place]
        if form in FORMS["finished_on"]:
            changed = replace(column.form, order=form)
        elif form in FORMS["size"]:
            changed = replace(column.form, unit=form)
        else:
            changed = replace(column.form, minutes=form == "min")
        self.columns[place] = replace(column, form=changed)

    def _take(self, column: Column, meaning: str) -> None:
        self.columns[column.place] = replace(column, meaning=meaning)

    def _free(self, meaning: str) -> bool:
        """Return whether no column is that, or is what it would be beside."""
        taken = {column.meaning for column in self.columns}
        if meaning in ("width", "height"):
            taken |= {"width", "height"} if taken & {"size", "diameter"} else set()
        elif meaning in ("size", "diameter") and taken & set(LENGTHS):
            return False
        return meaning not in taken

    def _share(self, column: Column, meaning: str) -> float:
        """Return which share of a column's cells can be read so; all, where it is empty."""
        cells = self.sample[column.place]
        tried = replace(column, meaning=meaning)
        return sum(map(partial(self._readable, tried), cells)) / len(cells) if cells else 1.0

    def _readable(self, column: Column, cell: str) -> bool:
        try:
            if column.meaning == "title":
                return re.search(r"[^\W\d_]", cell) is not None
            return read(column, cell, self.today) is not None
        except BadInput:
            return False

    def _open(self) -> list[Column]:
        return [c for c in self.columns if c.meaning == ASIDE and c.place not in self.told]

    def by_headings(self) -> None:
        """Take columns for what their headings say and their cells bear out."""
        headings = [column.heading for column in self.columns]
        named = [
            (score, column, meaning)
            for column in self._open()
            for meaning, score in _named(column.heading, headings).items()
            if column.own or self._share(column, meaning) >= _MOST_OF_IT
        ]
        while named := [one for one in named if self._free(one[2]) and one[1] in self._open()]:
            score, column, meaning = max(named, key=lambda one: one[0])
            rivals = [
                (which, what)
                for found, which, what in named
                if found == score and (which is column) != (what == meaning)
            ]
            if rivals:
                self._ask_which([(column, meaning), *rivals])
                named = [one for one in named if one[:2] != (score, column)]
                named = [one for one in named if (one[1], one[2]) not in rivals]
            else:
                self._take(column, meaning)

    def unlike_their_names(self) -> Iterator[str]:
        """Say which columns have a name that their cells do not bear out."""
        headings = [column.heading for column in self.columns]
        for column in self._open():
            named = _named(column.heading, headings)
            wholly = [one for one, score in named.items() if score[0] and self._free(one)]
            if wholly and self.sample[column.place]:
                yield (
                    f"'{column.called}' is left aside: cells like '{self._example(column)}' are"
                    f" no {MEANINGS[wholly[0]]}"
                )

    def _ask_which(self, choices: Sequence[tuple[Column, str]]) -> None:
        meanings = list(dict.fromkeys(meaning for _, meaning in choices))
        if len(meanings) > 1:
            column = choices[0][0]
            about = f"'{column.called}' could be {' or '.join(MEANINGS[one] for one in meanings)}"
            answers = tuple(
                (column.told(one), MEANINGS.get(one, "neither")) for one in (*meanings, ASIDE)
            )
        else:
            columns = [column for column, _ in choices]
            about = f"{' or '.join(c.called for c in columns)} could be {MEANINGS[meanings[0]]}"
            answers = tuple(
                (
                    ",".join(c.told(meanings[0] if c is chosen else ASIDE) for c in columns),
                    f"{chosen.called} ({self._example(chosen)})",
                )
                for chosen in columns
            )
        self.questions.append(Question(about, answers, sure_enough=False))

    def _example(self, column: Column) -> str:
        cells = self.sample[column.place]
        return cleaned_line(cells[0])[:30] if cells else "empty"

    def by_cells(self) -> None:
        """Take columns without a known heading for what their cells can only be."""
        if any(column.own for column in self.columns):
            return
        for column in self._open():
            cells = self.sample[column.place]
            if not cells or _about_others(column.heading):
                continue
            for meaning, needs in _TELLING.items():
                # What has a heading and is a day or an amount may be any of many.
                if column.heading and meaning in ("finished_on", "price"):
                    continue
                telling = sum(re.search(needs, cell) is not None for cell in cells) / len(cells)
                if (
                    telling >= _NEARLY_ALL
                    and self._free(meaning)
                    and self._share(column, meaning) >= _NEARLY_ALL
                    and (meaning != "species" or self._in_table(column))
                ):
                    self._take(column, meaning)
                    break
        if self._free("title"):
            words = [
                column
                for column in self._open()
                if self.sample[column.place]
                and not _about_others(column.heading)
                and self._share(column, "title") >= _NEARLY_ALL
            ]
            if len(words) == 1 or (words and not words[0].heading):
                self._take(words[0], "title")

    def _in_table(self, column: Column) -> bool:
        cells = self.sample[column.place]
        return sum(not species_on_record(cell).own for cell in cells) >= _MOST_OF_IT * len(cells)

    def ask_forms(self) -> None:
        """Ask in which order days are, and in which unit lengths, where nothing shows it."""
        for column in self.columns:
            cells = self.sample[column.place]
            if (
                column.meaning == "finished_on"
                and not self.told.get(column.place)
                and date_order(cells)[1]
            ):
                first = next(cell for cell in cells if date_order([cell])[1])
                orders = sorted(FORMS["finished_on"], key=lambda one: one != column.form.order)
                self.questions.append(
                    Question(
                        f"Days like {first} in '{column.called}'",
                        tuple((column.told(form=one), one.replace("-", " ")) for one in orders),
                    )
                )
        bare = [
            column
            for column in self.columns
            if column.meaning in LENGTHS
            and not column.own
            and not self.told.get(column.place)
            and not _unit(_words(column.heading), "mm", "cm", "in")
            and any(_BARE.fullmatch(cell) for cell in self.sample[column.place])
        ]
        if bare:
            first = next(filter(_BARE.fullmatch, self.sample[bare[0].place]))
            units = sorted(FORMS["size"], key=lambda one: one != bare[0].form.unit)
            names = " and ".join(f"'{column.called}'" for column in bare)
            self.questions.append(
                Question(
                    f"Lengths like {first} in {names}",
                    tuple((",".join(c.told(form=one) for c in bare), one) for one in units),
                )
            )

    def ask_what_is_missing(self) -> None:
        """Ask for the columns without which a row is no job."""
        if any(not question.sure_enough for question in self.questions):
            return
        have = {column.meaning for column in self.columns}
        missing = [] if "title" in have else ["title"]
        if not have & {"size", "diameter"}:
            missing += [f"{side}_mm" for side in ("width", "height") if side not in have]
        if missing:
            meaning = "title" if missing[0] == "title" else "size"
            answers = tuple(
                (column.told(meaning), f"{column.called} ({self._example(column)})")
                for column in self._open()
                if self.sample[column.place] and self._share(column, meaning) >= _MOST_OF_IT
            )
            about = f"There is no column {' or '.join(missing)}"
            self.questions.append(Question(about, answers, sure_enough=False))
