"""The program's own words as a studio reads them: measures in its units, words in its spelling.

Everything that the program says is written here once, in metric units and British spelling.
Where it is said to people (help, errors and hints, notes, questions, steps, letters) it comes
through here; what users typed never does. Figures that a studio's own records give are shown
by :mod:`burnplan.units`, and are no matter of words.
"""

import re
from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from burnplan.errors import BurnplanError
from burnplan.sentences import Sentence
from burnplan.units import MM_PER_INCH, UnitSystem, format_area, format_length

AMERICAN = {
    "centimetre": "centimeter",
    "colour": "color",
    "enquiry": "inquiry",
    "fibre": "fiber",
    "grey": "gray",
    "instalment": "installment",
    "labour": "labor",
    "levelled": "leveled",
    "smoulder": "smolder",
    "vapour": "vapor",
}
"""How the words that the program uses and that have two spellings begin, British and American."""

# Where the American spelling is the usual one (CLDR: English whose parent is not en_001).
_AMERICAN_IN = ("US", "PH", "PR", "GU", "AS", "MP", "VI", "UM")
_SPELT = re.compile(rf"(?<![\w-])(?:{'|'.join(AMERICAN)})", re.IGNORECASE)

# A comma parts coordinates.
_N = r"(?<![\w.])(?<!\d,)[-−]?\d[\d.]*"
# Nibs are sold by their size in millimetres, in inch countries too (common practice, no source).
_NIB = r"(?<!shader )(?<!ball )(?<!round )"
_EXAMPLE = re.compile(rf"({_N})(?:x(\d[\d.]*))?(mm|cm|C)(?!\w)")
_MEASURES: tuple[tuple[str, Callable[[re.Match[str]], str]], ...] = (
    (r"((?:[\d.]+,[\d.]+ )+[\d.]+,[\d.]+) (mm|cm)\b", lambda m: _corners(m[1], m[2])),
    (rf"({_N}) pixels per mm", lambda m: f"{25.4 * _value(m[1]):.0f} pixels per inch"),
    (
        rf"({_N}) (and|to|×) ({_N}) (mm|cm|m|°C)(?![\w²/])",
        lambda m: _pair(m[1], m[2], m[3], m[4]),
    ),
    (rf"{_NIB}({_N}) (mm)(?![\w²/])", lambda m: _inches(m[1], m[2])),
    (rf"({_N}) (cm|m|°C)(?![\w²/])", lambda m: _inches(m[1], m[2])),
    (rf"({_N}) cm²", lambda m: format_area(_value(m[1]), UnitSystem.IMPERIAL)),
    (rf"({_N}) cm per min", lambda m: f"{_value(m[1]) / 2.54:.2g} in per min"),
    (rf"({_N}) mm per s", lambda m: f"{_value(m[1]) / MM_PER_INCH:.2g} in per s"),
    (r"\bin mm\b", lambda _: "in inches"),
    (r"mm/s", lambda _: "in/s"),
    (r"px/mm", lambda _: "px/in"),
    (r"°C or °F", lambda _: "°F or °C"),
)


def N_(text: str) -> str:  # noqa: N802 gettext's own name for words that are translated later
    """Mark words that clients read, for the catalogues."""
    return text


class Wording(NamedTuple):
    """Who reads: a studio's units and its locale.

    Parameters
    ----------
    units : UnitSystem
    locale : str
        CLDR; without a country the British spelling is kept.
    """

    units: UnitSystem = UnitSystem.METRIC
    locale: str = ""

    def own(self, text: str) -> str:
        """Return words that are the program's alone, examples to type among them.

        Examples
        --------
        >>> here = Wording(UnitSystem.IMPERIAL, "en_US")
        >>> here.own("Grey, like 30x40cm or 'round 25cm'; at least 5 mm, and 21 cm² at '21C 45%'")
        "Gray, like 12x16in or 'round 10in'; at least 3/16 in, and 3.3 in² at '70F 45%'"
        >>> here.own("Corners like '0,0 30,1 29,21 1,20 cm', or '40mm,50mm 120mm,90mm'")
        "Corners like '0,0 12,0.39 11,8.3 0.39,7.9 in', or '1.5in,2in 4.5in,3.5in'"
        >>> Wording().own("Grey, like 30x40cm")
        'Grey, like 30x40cm'
        """
        if self.units is UnitSystem.IMPERIAL:
            text = _EXAMPLE.sub(_typed_in_inches, text)
            for pattern, said in _MEASURES:
                text = re.sub(pattern, said, text)
        if self.locale.startswith("en") and self.locale.rpartition("_")[2] in _AMERICAN_IN:
            text = _SPELT.sub(_american, text)
        return text

    def restated(self, text: str) -> str:
        """Return words that were kept in either system of units, in this one.

        Examples
        --------
        >>> Wording(UnitSystem.IMPERIAL).restated("Print it at 21 × 14 cm")
        'Print it at 8 1/4 × 5 1/2 in'
        >>> Wording().restated("Print it at 8 1/4 × 5 1/2 in; burn 3.3 in²")
        'Print it at 21 × 14 cm; burn 21 cm²'
        """
        if self.units is UnitSystem.IMPERIAL:
            return Wording(self.units).own(text)
        return re.sub(rf"({_N}(?: \d+/\d+)?)(?: × ({_N}(?: \d+/\d+)?))? in(²)?", _metric, text)

    def beside_typed(self, text: str) -> str:
        """Return the program's words; what is in quotes among them was typed, and stays.

        Examples
        --------
        >>> Wording(UnitSystem.IMPERIAL, "en_US").beside_typed("'5 mm' is no colour")
        "'5 mm' is no color"
        """
        return self._beside_typed(text, self.own)

    def restated_beside_typed(self, text: str) -> str:
        """Return words kept in either system of units; what is in quotes was typed, and stays.

        Examples
        --------
        >>> Wording().restated_beside_typed("Ticked for 'Owl, 8 in': Print it at 8 1/4 × 5 1/2 in")
        "Ticked for 'Owl, 8 in': Print it at 21 × 14 cm"
        """
        return self._beside_typed(text, lambda part: self.own(self.restated(part)))

    def _beside_typed(self, text: str, said: Callable[[str], str]) -> str:
        parts = re.split(r"('(?:[^']|'(?=\w))*')", text)
        return "".join(part if part.startswith("'") else said(part) for part in parts if part)

    def of_error(self, error: BurnplanError) -> Sentence:
        """Return what an error says: what was typed stands in quotes, but not in its remedy."""
        here = BurnplanError(
            self.beside_typed(error.message),
            *(self.own(part) if isinstance(part, str) else part for part in error.remedy.parts),
        )
        return here.sentence


AS_WRITTEN = Wording()
"""Words as they are written here."""


def _metric(found: re.Match[str]) -> str:
    one, other, square = found.groups()
    if square:
        return f"{float(one) * 2.54**2:.0f} cm²"
    sides = (sum(map(Fraction, side.split())) for side in (one, other) if side)
    return " × ".join(f"{round(float(side) * 2.54, 1):g}" for side in sides) + " cm"


def _value(text: str) -> float:
    return float(text.replace("−", "-"))


def _american(found: re.Match[str]) -> str:
    word = AMERICAN[found[0].lower()]
    return word.capitalize() if found[0][0].isupper() else word


def _typed_in_inches(found: re.Match[str]) -> str:
    """Return an example of what to type: sizes in whole inches, smaller things as they come."""
    one, other, unit = found.groups()
    if unit == "C":
        return f"{_value(one) * 9 / 5 + 32:.0f}F"
    mm = 10 if unit == "cm" else 1
    return "x".join(_typed(_value(text) * mm / MM_PER_INCH) for text in (one, other) if text) + "in"


def _typed(inches: float) -> str:
    if abs(inches) >= 6:
        return f"{inches:.0f}"
    if abs(inches) >= 1:
        return f"{round(inches * 2) / 2:g}"
    eighths, whole = max(1, round(abs(inches) * 8)), 8
    while eighths % 2 == 0:
        eighths, whole = eighths // 2, whole // 2
    said = f"{eighths}/{whole}" if whole > 1 else f"{eighths}"
    return f"-{said}" if inches < 0 else said


def _inches(text: str, unit: str) -> str:
    value = _value(text)
    if unit == "°C":
        return f"{value * 9 / 5 + 32:.0f} °F"
    if unit == "m":
        return f"{value * 1000 / MM_PER_INCH / 12:.3g} ft"
    mm = value * (10 if unit == "cm" else 1)
    small = abs(mm) < MM_PER_INCH / 16
    return f"{mm / MM_PER_INCH:.2g} in" if small else format_length(mm, UnitSystem.IMPERIAL)


def _corners(text: str, unit: str) -> str:
    per_inch = MM_PER_INCH / (10 if unit == "cm" else 1)
    return re.sub(r"[\d.]+", lambda one: f"{float(one[0]) / per_inch:.2g}", text) + " in"


def _pair(one: str, between: str, other: str, unit: str) -> str:
    first, second = _inches(one, unit), _inches(other, unit)
    return f"{first.rpartition(' ')[0]} {between} {second}"
