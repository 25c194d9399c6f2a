"""Which column of a table of past jobs is what: by headings, by cells, or as told.

A heading is believed where its cells can be read so. A column without a known heading is
taken for what its cells can only be. Where two readings are as good as each other there is
a question.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from statistics import median

from burnplan.cleaned import cleaned_line
from burnplan.dates import month_first
from burnplan.desk.derived.studio_settings import Settings
from burnplan.desk.time.past_cells import (
    CellForm,
    date_order,
    decimal_mark,
    is_nothing,
)
from burnplan.desk.time.past_columns import (
    ASIDE,
    FORMS,
    LENGTHS,
    LONGEST,
    MEANINGS,
    OWN,
    Column,
    read,
)
from burnplan.desk.time.past_headings import (
    about_others,
    heading_row,
    meanings_of,
    unit_in,
    words_of,
)
from burnplan.desk.time.past_text import TextTable
from burnplan.errors import BadInput
from burnplan.units import UnitSystem
from burnplan.wood.species import species_on_record

# How much of a column must be readable for what its heading says (our own choice), and for
# what no heading says.
_MOST_OF_IT, _NEARLY_ALL = 0.5, 0.7
_NEEDED = ("title", "width_mm", "height_mm")
# What the cells of a column without a known heading show, that it is taken for.
_TELLING = {
    "size": r"\d.*[x×*]\s*\d",
    "finished_on": r"\d\D+\d|[^\W\d]{3}.*\d{4}",
    "price": r"[$€£¥₹]|\b[A-Z]{3}\b",
    "species": r"[^\W\d]",
}
_DATE_LIKE = re.compile(r"\d[./-]\s?\d{1,2}[./-]\s?\d")
_BARE = re.compile(r"[\d\s.,/½¼¾x×*X-]+")
# Cells of a column that are tried.
_TRIED = 200  # a guess: more tell the same
# Longer than this in cm, a middling piece is measured in mm; longer in inches too (a guess: few
# burn pieces so long).
_LONG_CM, _LONG_IN = 80.0, 60.0
_OURS = frozenset((*MEANINGS, *OWN)) - frozenset(LENGTHS)


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
    top = heading_row(table.rows)
    jobs = table.rows[0 if top is None else top + 1 :]
    if top is None:
        headings = [""] * max((len(cells) for _, cells in jobs[:_TRIED]), default=0)
    else:
        headings = [cleaned_line(cell) for cell in table.rows[top][1]]
    sample = [
        [
            cells[n][:LONGEST]
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
        words = words_of(heading)
        form = CellForm(
            settings.currency,
            settings.locale,
            decimal_mark(cells) or common,
            unit_in(words, "mm", "cm", "in") or _likely_unit(cells, settings.units),
            order,
            minutes=unit_in(words, "h", "min") == "min",
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
            for meaning, score in meanings_of(column.heading, headings).items()
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
            named = meanings_of(column.heading, headings)
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
            if not cells or about_others(column.heading):
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
                and not about_others(column.heading)
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
            and not unit_in(words_of(column.heading), "mm", "cm", "in")
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
