"""Earned value, and a job's progress in words."""

import pytest

from burnplan.reckon.progress import EarnedValue, earned_value, in_words
from burnplan.reckon.remaining import NOTHING, RemainingHours, of_quantiles
from burnplan.reckon.work import Work


def test_hours_are_earned_by_what_is_settled() -> None:
    planned = {Work.PREPARE: 2.0, Work.TRANSFER: 2.0, Work.BURN: 14.0, Work.FINISH: 2.0}
    settled = {Work.PREPARE: 1.0, Work.TRANSFER: 0.5, Work.BURN: 0.25}
    value = earned_value(planned, settled, 7.0)
    assert value == EarnedValue(bac=20.0, ev=2 + 1 + 3.5, ac=7.0)


@pytest.mark.parametrize(
    ("value", "left", "words"),
    [
        (
            EarnedValue(30, 12.3, 14.1),
            of_quantiles(11, 13),
            "41 % done in 47 % of its hours; 11 h (50 %) to 12 h (80 %) left",
        ),
        (EarnedValue(0, 0, 0), of_quantiles(4, 6), "not begun; 4 h (50 %) to 5 h 13 (80 %) left"),
        (
            EarnedValue(10, 0.5, 0),
            of_quantiles(4, 6),
            "5 % done in 0 % of its hours; 4 h (50 %) to 5 h 13 (80 %) left",
        ),
        (
            EarnedValue(10, 0, 0.5),
            of_quantiles(4, 6),
            "0 % done in 5 % of its hours; 4 h (50 %) to 5 h 13 (80 %) left",
        ),
        (EarnedValue(0, 0, 3), of_quantiles(4, 6), "0 % done; 4 h (50 %) to 5 h 13 (80 %) left"),
        (
            EarnedValue(10, 9.99, 12),
            of_quantiles(0.4, 0.6),
            "99 % done in 120 % of its hours; 24 min (50 %) to 31 min (80 %) left",
        ),
        (
            EarnedValue(10, 5, 4),
            of_quantiles(7, 7.1),
            "50 % done in 40 % of its hours; 7 h (50 %) to 7 h 04 (80 %) left",
        ),
        (EarnedValue(10, 10, 0), NOTHING, "done in 0 % of its hours"),
        (EarnedValue(0, 0, 0), NOTHING, "done"),
    ],
)
def test_in_words(value: EarnedValue, left: RemainingHours, words: str) -> None:
    assert in_words(value, left) == words
    assert in_words(value, left, "on course for Dec 12").endswith("on course for Dec 12") == (
        left.mean > 0
    )
