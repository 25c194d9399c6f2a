"""Finishes: what suits where a piece will live, and when the next coat may go on.

No product and no drying time is known here: the maker's label says both.
"""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from burnplan.errors import BadInput
from burnplan.wood.cautions import DEFER, FINISH_RAGS, FOOD

USUAL_COATS = 3
"""Of a finish for which nothing else is planned (common practice, no source)."""

MOST_COATS = 12
"""That can be planned (a limit by definition)."""


@dataclass(frozen=True, slots=True)
class FinishAdvice:
    """What finish a use asks for.

    Parameters
    ----------
    finish, reason, source : str
    wood, burning : str
        What the use asks of the wood, and of what is burned on it; empty for indoors.
    cautions : tuple of str
        What to mind; the last says whose word comes first.
    """

    finish: str
    reason: str
    source: str
    cautions: tuple[str, ...]
    wood: str = ""
    burning: str = ""


_DRYING = "Drying time between coats as the maker's label says"
_ADVICE = {
    "indoor": FinishAdvice(
        "A clear finish whose label gives it for wood indoors",
        "It keeps hands and dust off the char; daylight still fades it slowly",
        "common practice, no source",
        (_DRYING, FINISH_RAGS, DEFER),
    ),
    "outdoor": FinishAdvice(
        "A UV-resistant finish whose label gives it for wood outdoors, on all sides",
        "It slows fading and weathering, it does not stop them: say so, and when to renew it",
        "common practice, no source",
        (_DRYING, FINISH_RAGS, DEFER),
        "weather moves the wood and lifts its grain: one that lasts outdoors untreated,"
        " never treated wood",
        "daylight fades the burn: dark, broad tones last longer than fine pale ones",
    ),
    "food": FinishAdvice(
        "A finish whose label allows food contact, fully cured as the label says, or none",
        "For boards and utensils food codes name hard maple or a wood as hard and close-grained",
        "US FDA Food Code 4-101.17, read as WAC 246-215-04130",
        (FOOD, _DRYING, FINISH_RAGS, DEFER),
        "hard and close-grained wood of one piece, as hard maple is",
        "none on a surface that touches food",
    ),
}
USES = tuple(_ADVICE)
"""Where a piece can live."""


def finish_for(use: str) -> FinishAdvice:
    """Return what finish a use asks for.

    Parameters
    ----------
    use : str
        ``indoor``, ``outdoor`` or ``food``.

    Raises
    ------
    BadInput
        If it is none of these.

    Examples
    --------
    >>> finish_for("outdoor").reason.split(",")[0]
    'It slows fading and weathering'
    """
    if use not in _ADVICE:
        raise BadInput(f"'{use}' is not where a piece lives", f"It is one of {', '.join(USES)}")
    return _ADVICE[use]


def next_coat_at(laid_at: datetime, label_hours: float | None) -> datetime | None:
    """Return when the next coat may go on at the earliest.

    Parameters
    ----------
    laid_at : datetime
        When the last coat was laid.
    label_hours : float or None
        Drying time that the maker's label gives; None if it was not said, and then
        nobody knows.

    Raises
    ------
    BadInput
        If it is not from 0 to 1000 hours.

    Examples
    --------
    >>> next_coat_at(datetime(2027, 3, 1, 18), 12)
    datetime.datetime(2027, 3, 2, 6, 0)
    """
    if label_hours is None:
        return None
    if not (math.isfinite(label_hours) and 0 < label_hours <= 1000):
        raise BadInput(
            f"{label_hours:g} hours is not a drying time", "Copy it from the maker's label"
        )
    return laid_at + timedelta(hours=label_hours)
