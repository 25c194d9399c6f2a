"""What is read or copied in one piece stays on one line: amounts, sizes, commands.

Text is broken into lines at its spaces, but not at those inside such a piece.
"""

import re
from functools import cache

# A mark for each kind of space, which no text has: Unicode keeps these for use inside programs.
_MARKS = str.maketrans({" ": "\ufdd0", "\N{NO-BREAK SPACE}": "\ufdd1", "\u202f": "\ufdd2"})
_SPACES = str.maketrans({mark: chr(space) for space, mark in _MARKS.items()})

_NUMBER = r"[<>±−+-]?\d[\d.,’']*(?:[ -]\d{1,2}/\d{1,2})?"
_UNIT = r"(?:%|h|min|s|mm²|cm²|in²|mm|cm|m|in|ft|px|pixels|lbf|°C|°F)(?![\w²])"
_WORD = r"(?:'[^']*'|\"[^\"]*\"|[^\s'\"]+)"
_NEXT = rf" (?!or ){_WORD}"
_DAY = r"(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun)"
_PIECES = "|".join(
    (
        # A command: in quotes; or after a colon, a bracket, "$" or "or", to the end of the clause.
        r"'burnplan [^\n]*?'(?=[\s.,;:)]|$)",
        rf"(?:(?<=: )|(?<=\()|(?<=\$ )|(?<=or )|^ *)burnplan(?:{_NEXT}(?<![.,;)]))*(?:{_NEXT})?",
        # An option with its value, and a short example of what to type.
        r"--[a-z][a-z-]*[ =](?:'[^'\n]*'|\"[^\"\n]*\"|[\dA-Z][^\s.,;)]*)",
        r"'(?=[^'\n]{0,39}\d)[^'\n]{1,40}'",
        # Hours with their share of cases, sizes, any number with its unit.
        r"\d[\d.,]* h(?: \d\d)?(?: \(\d\d %\))?(?!\w)",
        rf"(?:\b(?:round|oval) )?{_NUMBER}(?: × {_NUMBER})?[ \u00a0\u202f]{_UNIT}",
        rf"(?:\b(?:round|oval) )?{_NUMBER} × {_NUMBER}",
        # Money, which CLDR joins with spaces of its own.
        r"\S+(?:[\u00a0\u202f]\S+)+",
        rf"{_DAY} \d{{1,2}} [A-Z][a-z]{{2}}(?: \d{{4}})?(?!\w)",
        r"× \d[\d.,]*",
    )
)


@cache
def _pieces() -> re.Pattern[str]:
    """Return what such a piece looks like; compiled when first looked for."""
    return re.compile(_PIECES, re.MULTILINE)


def joined(text: str, room: int | None = None) -> str:
    """Return text, of the same length, in which what belongs together has no spaces.

    Parameters
    ----------
    text : str
    room : int, optional
        What is longer than a line of so many letters stays as it is, to be broken at spaces.

    Examples
    --------
    >>> [len(word) for word in joined("Left: 6 h 15 (50 %)").split()]
    [5, 13]
    """
    if " " not in text and "\N{NO-BREAK SPACE}" not in text and "\u202f" not in text:
        return text

    def one(found: re.Match[str]) -> str:
        fits = room is None or len(found[0]) <= room
        return found[0].translate(_MARKS) if fits else found[0]

    return _pieces().sub(one, text)


def parted(text: str) -> str:
    """Return text as it was before :func:`joined`."""
    return text.translate(_SPACES)


def broken(text: str, width: int, *, over: bool = False, after: int = 0) -> str:
    r"""Return text, of the same length, with line feeds for the spaces that lines end at.

    Parameters
    ----------
    text : str
    width : int
        Columns of a line.
    over : bool
        A piece that is longer than a line may run over it: what folds it does not cut it.
        Else that is broken at its spaces.
    after : int
        Columns that each line but the first has less.

    Examples
    --------
    >>> broken("Add one: burnplan commission add", 24)
    'Add one:\nburnplan commission add'
    >>> broken("The next takes 6 h 15 (50 %) or so", 24)
    'The next takes\n6 h 15 (50 %) or so'
    """
    from rich.cells import cell_len

    held = joined(text, None if over else width)
    letters, start, end, room = [*text], 0, 0, width
    for word in re.finditer(r"[^ \n]+", held):
        if "\n" in held[end : word.start()]:
            start = word.start() - len(held[: word.start()].rpartition("\n")[2])
            room = width
        elif end > start and cell_len(text[start : word.end()]) > room:
            letters[word.start() - 1] = "\n"
            start, room = word.start(), width - after
        end = word.end()
    return "".join(letters)


def wrapped(text: str, width: int) -> list[str]:
    """Return text as lines of so many columns; a longer word is cut.

    Examples
    --------
    >>> wrapped("Left of it: 3 h 45 (50 %) to 4 h 07 (80 %)", 24)
    ['Left of it:', '3 h 45 (50 %) to', '4 h 07 (80 %)']
    """
    from textwrap import wrap

    lines = broken(re.sub(r"[ \n\t]+", " ", text).strip(" "), width).split("\n")
    cut = (wrap(line, width) if len(line) > width else [line] for line in lines)
    return [line for some in cut for line in some if line]


def shortened(text: str, width: int) -> str:
    """Return text cut to so many columns, at the end of which no amount is cut.

    Examples
    --------
    >>> shortened("Print it at 8 1/4 × 5 1/2 in, and trace it", 20)
    'Print it at…'
    >>> shortened("Cut the sheet to the outline", 20)
    'Cut the sheet to th…'
    """
    from rich.cells import set_cell_size

    return f"{before_amount(text, len(set_cell_size(text, width - 1).rstrip()))}…"


def before_amount(text: str, end: int) -> str:
    """Return a text's first letters, so many or as many as are before an amount cut there.

    Examples
    --------
    >>> before_amount("about 6 h 15 in all", 9), before_amount("about 6 h 15 in all", 14)
    ('about', 'about 6 h 15 i')
    """
    held = joined(text)
    begun = end - len(re.split("[ \n]", held[:end])[-1])
    word = re.split("[ \n]", held[begun:])[0]
    if begun and begun + len(word) > end and any(letter.isdigit() for letter in word):
        return text[:begun].rstrip(" ,;:×")
    return text[:end]
