"""What has been learned of an artist's pace, against the starting guess, in plain factors."""

from dataclasses import dataclass
from math import exp

import numpy as np

from burnplan.reckon.pace import Pace
from burnplan.reckon.pace_rows import STAGES, rows_of
from burnplan.reckon.regression import Array
from burnplan.reckon.standard_hours import coarse_plan, usual_line_cm
from burnplan.reckon.work import Grade, Work, WorkPlan

# Nine in ten of a normal distribution lie within so many deviations (by definition).
_Z90 = 1.6448536269514722
# Beyond this share "±" says what cannot be: no time is 179 % less (our own choice: twice and half
# are said in words).
_NARROW = 0.5
# Factors nearer to 1 than this are as the starting guess (our own choice: nobody feels three per
# cent).
_AS_GUESSED = 0.03


@dataclass(frozen=True, slots=True)
class PaceFactor:
    """A factor on the starting guess.

    Parameters
    ----------
    about : str
        What takes that much longer, or shorter.
    factor : float
        1 is as the starting guess, 0.7 takes 30 % less time.
    within : float
        It is sure, nine times in ten, within this share either way.
    """

    about: str
    factor: float
    within: float

    def in_words(self) -> str:
        """Return it in words.

        Examples
        --------
        >>> PaceFactor("dark fills, against pale ones", 0.7, 0.12).in_words()
        'dark fills, against pale ones: 30 % shorter than the starting guess; sure within ±12 %'
        """
        share = abs(self.factor - 1) * 100
        pace = f"{share:.0f} % {'longer' if self.factor > 1 else 'shorter'} than"
        said = "as" if abs(self.factor - 1) < _AS_GUESSED else pace
        return f"{self.about}: {said} the starting guess; sure within {spread(self.within)}"


def is_clear(factor: float, within: float) -> bool:
    """Return whether a factor differs from the starting guess by more than it may be off.

    Examples
    --------
    >>> is_clear(1.5, 0.6), is_clear(0.6, 0.6)
    (False, True)
    """
    return max(factor, 1 / factor) > 1 + within


def spread(within: float) -> str:
    """Return how far a factor may be off, as one can picture it.

    Parameters
    ----------
    within : float
        Share either way; a factor is divided and multiplied by one more than it.

    Examples
    --------
    >>> spread(0.12), spread(1.79)
    ('±12 %', 'a third to 2.8 times')
    """
    if within <= _NARROW:
        return f"±{within * 100:.0f} %"
    parts = 1 + within
    named = {2: "half", 3: "a third", 4: "a quarter", 5: "a fifth"}.get(round(parts))
    named = "two thirds" if parts < 1.75 else named
    return f"{named or f'1/{parts:.0f}'} to {parts:.2g} times"


def _piece(
    # A middling piece, about 24 × 24 cm (our own choice: only ratios to the guess are shown).
    area: float = 600.0,
    dark: float = 0.5,
    rough: float = 0.3,
    hardness: float = 600.0,
) -> WorkPlan:
    side = 10 * area**0.5
    return coarse_plan(
        side,
        side,
        area,
        hardness_lbf=hardness,
        darkness=Grade(dark),
        texture=Grade(rough),
        line_cm=usual_line_cm(area, rough),
    )


def _known(pace: Pace, row: Array, shift: Array) -> tuple[float, float]:
    """Return mean and deviation of what is believed of a row, over the hypotheses."""
    full = np.concatenate(
        [np.broadcast_to(row, (len(pace.weight), len(row))), shift[:, None]], axis=1
    )
    centre = np.einsum("hw,hw->h", full, pace.mean)
    heavy = pace.degrees / max(pace.degrees - 2, 1.0)  # a Student-t's variance over its scale²
    inside = np.einsum("hw,hwv,hv->h", full, pace.cover, full) * pace.variance * heavy
    mean = float(pace.weight @ centre)
    return mean, float(np.sqrt(pace.weight @ (inside + (centre - mean) ** 2)))


def pace_factors(pace: Pace) -> tuple[PaceFactor, ...]:
    """Return what an artist's pace is against the starting guess.

    Parameters
    ----------
    pace : Pace

    Returns
    -------
    tuple of PaceFactor
        Each stage on a middling piece; then burning, what changes it against
        what the starting guess says that it changes.
    """
    found = []
    for number, stage in enumerate(STAGES):
        row = rows_of(_piece())[0][number]
        found.append(
            _of(f"{stage.value}, a middling piece", *_known(pace, row, pace.shift[:, number]))
        )
    burn = STAGES.index(Work.BURN)
    none = np.zeros(len(pace.weight))
    for about, more, less in (
        ("burning dark fills, against pale ones", _piece(dark=0.75), _piece(dark=0.3)),
        ("burning dense fur, against plain tones", _piece(rough=0.6), _piece(rough=0.1)),
        ("burning large pieces, against small ones", _piece(area=1200), _piece(area=200)),
        ("burning hard wood, against soft", _piece(hardness=1400), _piece(hardness=410)),
    ):
        found.append(
            _of(about, *_known(pace, rows_of(more)[0][burn] - rows_of(less)[0][burn], none))
        )
    return tuple(found)


def _of(about: str, mean: float, deviation: float) -> PaceFactor:
    return PaceFactor(about, exp(mean), exp(_Z90 * deviation) - 1)
