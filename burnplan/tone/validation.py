"""Checks on plain values that were stored or typed, as JSON holds them."""

import math
from collections.abc import Iterable, Mapping
from typing import Any

from burnplan.errors import BadInput


def refuse_unknown(plain: Mapping[str, Any], known: Iterable[str], what: str) -> None:
    """Refuse names that mean nothing, such as a misspelt one.

    Raises
    ------
    BadInput
    """
    unknown = sorted(set(plain) - set(known))
    if unknown:
        raise BadInput(f"A {what} has no '{unknown[0]}'", f"It can have {', '.join(sorted(known))}")


def number(value: object, what: str) -> float:
    """Return a finite number.

    Raises
    ------
    BadInput
        If it is something else.
    """
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BadInput(f"The {what} must be a number, not {value!r}")
    return float(value)


def number_within(value: object, low: float, high: float, what: str, unit: str = "") -> float:
    """Return a number that lies within limits, both allowed.

    Raises
    ------
    BadInput
    """
    found = number(value, what)
    if not low <= found <= high:
        least, most, given = (f"{one:g} {unit}".rstrip() for one in (low, high, found))
        raise BadInput(f"The {what} must be between {least} and {most}, not {given}")
    return found
