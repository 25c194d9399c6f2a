"""What must not stand in what a studio reads, and what must stand in one piece."""

import re
from collections.abc import Iterable, Iterator

from rich.cells import cell_len

from tests.walk.studios import TYPED, Country, Shown

_NUMBER = r"(?:(?<![\w.,])|(?<=\dx))[<>−-]?\d[\d.,]*(?: \d+/\d+)?"

METRIC = re.compile(
    rf"{_NUMBER} ?(?:mm|cm|m|km|cm²|mm²)(?![\w²])|(?<!\w)(?:mm|cm|cm²|mm²)(?![\w²])"
    r"|px/mm|/cm|mm/s|per mm|°\s?C|(?<![-\w])\d+ ?C(?![-\w])"
    r"|(?i:centimet|millimet|\bmetres?\b)"
)
IMPERIAL = re.compile(
    rf"{_NUMBER} ?(?:in²|ft|″)(?!\w)|{_NUMBER}in(?!\w)|{_NUMBER} in(?= *(?:[.,;:)×|]|\n|$|  ))"
    rf"|px/in|in/s|°\s?F|{_NUMBER} ?F(?!\w)|(?i:\binch)|\bimperial\b|\bfeet\b"
)
BRITISH = re.compile(
    r"(?i:colour|\bgrey|centre|metre|mould|labour|fibre|enquir|instalment|vapour|odour|levelled"
    r"|labelled|cancelled|travell|catalogue|cheque|licence|practise|favour|neighbour|smoulder"
    r"|\b\w{4,}(?:ise|yse)[sd]?\b(?<!otherwise)(?<!promise)(?<!precise)(?<!exercise)(?<!wise))"
)
AMERICAN = re.compile(
    r"(?i:\bcolor|\bgray|\bcenter|\b(?:centi|milli)meter|\bmold|\blabor\b|\bfiber|inquir|installment|\bvapor\b"
    r"|\bodor\b|\bleveled|\blabeled|\bcanceled|\btraveled|\bcatalog\b|\bneighbor|smolder)"
)
ISO_DATE = re.compile(r"\b\d{4}-\d\d(?:-\d\d)?\b")
LOOSE_DATE = re.compile(
    r"(?<!\w)(?<!(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) )\d\d? (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct"
    r"|Nov|Dec)\b"
)

# What a trade measures in a unit of its own in every country, each with the reason.
KEPT = (
    (r"(?:shader|ball|round) \d mm", "nibs are sold by their size in millimetres"),
    (r"vol\.\s+100\s+C", "the number of the monograph"),
    (r"1 mg/m³", "the limit of the rule that is named, as it is written"),
    (
        r"hardness,? lbf(?: \d+[†?~*‡]?)?|lbf",
        "Janka hardness is quoted in pounds-force by the trade",
    ),
    (
        r"units\s+<?(?:metric|imperial)(?:\|imperial>)?|metric or imperial|units=\w+",
        "the setting itself",
    ),
    (r"(?:width|height|traced lines), [mc]m|2026-01-17", "as the table has it that is read"),
    (r"Eurostat, labour costs", "the statistic's own name"),
    (r"dial, C or F", "the scale that the maker has put on the pen"),
    (r"1\.2 mm", "the width of a nib"),
    (r"mm²", "the smallest area is asked for by what a nib holds"),
    (r"Write it like 2027-03-18", "what may be typed"),
    (r"'(?:en|in)quiry'|(?:en|in)quiry\|", "names that are typed, in either spelling"),
    (r"--(?:grey|gray|instalment|installment)|grey\|gray", "typed names, in either spelling"),
)


def own_words(text: str, line: str = "") -> str:
    """Return what the program says: without what the trade keeps, and what was typed."""
    for kept, _reason in KEPT:
        text = re.sub(kept, "…", text)
    words = (word for word in re.split(r"[\s,='\"]+", line) if len(word) > 2)
    for typed in (*TYPED, *words):
        text = re.sub(r"\s+".join(map(re.escape, typed.split())), "…", text)
    for typed in TYPED:  # where it was cut for want of room
        for end in range(len(typed) - 1, 12, -1):
            text = text.replace(f"{typed[:end].rstrip()}…", "…")
    return text


def found(patterns: Iterable[re.Pattern[str]], text: str, line: str = "") -> list[str]:
    """Return each place where one of some patterns stands, with what is about it.

    What was typed in the line of the command may be said again.
    """
    said = own_words(text, line)
    return [
        f"{one[0]!r} in {said[max(0, one.start() - 40) : one.end() + 30]!r}"
        for pattern in patterns
        for one in pattern.finditer(said)
    ]


FOREIGN = {"en_US": (METRIC, BRITISH), "de_DE": (IMPERIAL, AMERICAN)}

# What is read or copied as one: amounts and sizes with their units, money, hours, commands.
_ONE = re.compile(
    r"\d[\d.,]*(?: \d+/\d+)? × \d[\d.,]*(?: \d+/\d+)? (?:in|cm)\b"
    r"|\d+ h(?: \d\d)? \(\d\d %\)|\d+ h \d\d\b(?!:)|[<>]?\d[\d.,]* %|\d[\d.,]*\u00a0€|\$\d[\d.,]*"
    r"|\d[\d.,]*(?: \d+/\d+)? (?:in²|cm²|in|ft|mm|cm|m)\b|\b[CBLRP]-\d{4}\b"
)
_COMMAND = re.compile(
    r"(?:(?<=')burnplan [^'\n]+(?=')|(?:(?<=: )|^ +)burnplan [a-z][^\n]*?(?=\.?$|[,;] | or |\)))",
    re.MULTILINE,
)


def broken(whole: str, narrow: str, width: int) -> list[str]:
    """Return what stands in one piece in a pipe, and on no line of a terminal.

    A word or an amount that is longer than the line has to be broken; a command has not:
    it runs over.
    """
    rows = [re.sub(r"[ \u00a0]+", " ", line) for line in narrow.split("\n")]
    words = {word for line in rows for word in line.split()}
    # Headings are left out where rows are stacked.
    flat = re.sub(r"^.*\n ?─[─ ]*$", "", re.sub(r" {2,}", "  ", whole), flags=re.MULTILINE)
    pieces = {one[0] for one in _ONE.finditer(flat) if len(one[0]) <= width - 8}
    pieces |= {one[0].strip() for one in _COMMAND.finditer(flat)}
    missing = [
        one for one in pieces if not any(re.sub(r"[ \u00a0]+", " ", one) in row for row in rows)
    ]
    return missing + [
        one
        for one in sorted({word for word in flat.split() if len(word) <= width - 10})
        if one not in words and re.search(r"\w", one)
    ]


def too_long(narrow: str, width: int) -> list[str]:
    """Return lines longer than the terminal, but for what is copied and one long word."""
    return [
        line
        for line in narrow.split("\n")
        if cell_len(line.rstrip()) > width
        and not _COMMAND.search(line)
        and "burnplan " not in line
        and max(map(len, line.split())) <= width - 10
    ]


def cut(text: str) -> list[str]:
    """Return where words were left out: the dots that stand for them."""
    return re.findall(r".{0,20}(?<!prepare )(?<!\d )(?<!' )(?<!\d: )…(?! finish| \d).{0,9}", text)


def broken_on_paper(text: str) -> list[str]:
    """Return amounts that a line of a page ends within."""
    flat = text.replace("\n", " ")
    spots = (one.span() for one in _ONE.finditer(flat))
    return [text[start:end] for start, end in spots if "\n" in text[start:end]]


def wrong(shown: Shown, country: Country) -> Iterator[tuple[str, str]]:
    """Yield what is wrong in what a command shows."""
    # For a mail, whose lines are as long as those of mails.
    letter = "--text" in shown.line or shown.line.startswith("letter ")
    foreign = FOREIGN[country.name]
    yield from (("foreign", one) for one in found(foreign, shown.piped, shown.line))
    if not letter:
        dates = (ISO_DATE, LOOSE_DATE)
        yield from (("dates", one) for one in found(dates, shown.piped, shown.line))
    for width, narrow in shown.at.items():
        for one in broken(shown.piped, narrow, width):
            yield f"broken at {width}", one
        if not letter:
            for one in too_long(narrow, width):
                yield f"too long at {width}", one
    if shown.piped != shown.piped_elsewhere:
        yield "wrapped in a pipe", shown.piped_elsewhere
    yield from (("cut in a pipe", one) for one in cut(shown.piped))
