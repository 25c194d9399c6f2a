"""The text of a table of past jobs: its letters, what parts its columns, its rows."""

import codecs
import csv
import io
import re
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from burnplan.errors import BadInput
from burnplan.files import refuse_what_is_no_file

LARGEST_FILE = 20_000_000  # a limit by definition
# One entry of the history holds them all, and must go through an export and back.
MOST_JOBS = 50_000  # a limit by definition
MOST_COLUMNS = 1_000  # a limit by definition
# What may stand above the jobs, headings among it.
_ABOVE = 50  # a limit by definition
# Rows that are looked at to tell what parts the columns.
_LOOKED_AT = 40  # a guess: more tell the same
# Where two part the rows as evenly: what is rarer inside a cell comes first.
_SEPARATORS = {"\t": "tabs", ";": "semicolons", "|": "bars", ",": "commas"}
_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"),
          (codecs.BOM_UTF16_BE, "utf-16"))  # fmt: skip
# Archives and compound files, as the programs that make spreadsheets keep them.
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
# The first line of some programs' files names the separator.
_NAMED_SEPARATOR = re.compile(r'^"?sep=([,;|\t])"?\r?\n', re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TextTable:
    """The rows of a file that have something in them.

    Parameters
    ----------
    rows : list of (int, list of str)
        Each with its number as a spreadsheet counts, from 1; cells without stray spaces.
    separator, letters : str
        What parts the columns, and how the letters are kept.
    broken : tuple of (int, str), optional
        The row at which the file stops being a table, and why.
    """

    rows: list[tuple[int, list[str]]]
    separator: str
    letters: str
    broken: tuple[int, str] | None = None

    @property
    def parted_by(self) -> str:
        """What parts the columns, in words."""
        return _SEPARATORS[self.separator]


def read_table(path: Path) -> TextTable:
    """Read a file of rows and columns: CSV in any of its forms.

    Raises
    ------
    BadInput
        If it cannot be read, is no text, or is too long.
    """
    text, letters = _text(path)
    separator = ""
    skipped = 0
    if named := _NAMED_SEPARATOR.match(text):
        separator, text, skipped = named[1], text[named.end() :], 1
    separator = separator or _separator(text)
    rows: list[tuple[int, list[str]]] = []
    broken = None
    number = skipped
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, delimiter=separator)
    try:
        for number, cells in enumerate(reader, start=skipped + 1):
            if len(cells) > MOST_COLUMNS:
                raise BadInput(f"'{path.name}' has more than {MOST_COLUMNS:,} columns", "Split it")
            if any(cell.strip() for cell in cells):
                rows.append((number, [cell.strip() for cell in cells]))
            if len(rows) > MOST_JOBS + _ABOVE:
                break
    except csv.Error as error:
        broken = (number + 1, f"not CSV from here on: {error}")
    return TextTable(rows, separator, letters, broken)


def too_many(path: Path) -> BadInput:
    """Return what is said of a file with more jobs than are brought in at once."""
    return BadInput(f"'{path.name}' has more than {MOST_JOBS:,} jobs", "Split it")


def _text(path: Path) -> tuple[str, str]:
    """Return what a file says and how its letters are kept."""
    refuse_what_is_no_file(path)
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise BadInput(f"'{path.name}' is larger than 20 MB", "Split it")
        held = path.read_bytes()
    except OSError as error:
        raise BadInput(f"'{path}' cannot be read: {error.strerror}", "Check its name") from None
    if held.startswith(_WORKBOOKS):
        raise BadInput(
            f"'{path.name}' is a spreadsheet program's own file",
            "Save it as CSV there, and bring that in",
        )
    encoding = next((name for mark, name in _MARKS if held.startswith(mark)), "utf-8")
    for name in (encoding, "cp1252"):
        try:
            text = held.decode(name)
        except UnicodeDecodeError:
            continue
        if name != "cp1252" or "\0" not in text:
            return text, name.removesuffix("-sig").upper()
    raise BadInput(f"'{path.name}' is no text that can be read", "Save it as CSV in UTF-8")


def _separator(text: str) -> str:
    """Return what parts the columns: that by which the most rows are equally long."""

    def evenness(separator: str) -> float:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        lengths: Counter[int] = Counter()
        with suppress(csv.Error):
            lengths.update(len(cells) for cells in islice(reader, _LOOKED_AT) if any(cells))
        length, rows = max(lengths.items(), key=lambda found: (found[1], found[0]), default=(1, 0))
        # Two columns are no jobs: a mark that is once in every row stands in its words.
        return rows / lengths.total() * (1.0 if length > 2 else 0.5) if length > 1 else 0.0

    return max(_SEPARATORS, key=evenness)
