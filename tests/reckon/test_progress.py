"""Earned value in the terms of EIA-748, against worked examples published by others.

A civil engineering review course (ceboardexamgenerator.com, 'Project Control and
Earned Value'), a textbook exercise with its answer (studylib.net/doc/9750501, ch. 7),
pmplinks.com and gristprojectmanagement.us on the to-complete index.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.reckon.progress import EarnedValue, earned_value, in_words
from burnplan.reckon.remaining import NOTHING, RemainingHours, of_quantiles
from burnplan.reckon.work import Work


def test_the_indices_of_the_published_examples() -> None:
    course = EarnedValue(bac=200_000, pv=100_000, ev=90_000, ac=110_000)
    assert (course.cv, course.sv) == (-20_000, -10_000)
    assert course.cpi == pytest.approx(0.818, abs=0.0005)
    assert course.spi == pytest.approx(0.900, abs=0.0005)
    ahead = EarnedValue(bac=2_000_000, pv=800_000, ev=900_000, ac=850_000)
    assert ahead.cpi == pytest.approx(1.059, abs=0.0005)
    assert ahead.spi == pytest.approx(1.125)
    textbook = EarnedValue(bac=120_000, pv=23_000, ev=20_000, ac=25_000)
    assert (textbook.cv, textbook.sv) == (-5_000, -3_000)
    assert textbook.cpi == pytest.approx(0.8)
    assert textbook.spi == pytest.approx(0.8696, abs=0.0001)
    assert textbook.eac == pytest.approx(150_000)
    assert textbook.etc == pytest.approx(150_000 - 25_000)


@pytest.mark.parametrize(
    ("bac", "ev", "ac", "tcpi"),
    [(100_000, 30_000, 25_000, 0.93), (250_000, 175_000, 180_000, 75 / 70)],
)
def test_the_to_complete_index_of_the_published_examples(
    bac: float, ev: float, ac: float, tcpi: float
) -> None:
    assert EarnedValue(bac, ev, ac).tcpi == pytest.approx(tcpi, abs=0.005)


@given(*(st.floats(0.1, 1000) for _ in range(3)))
def test_identities_of_earned_value(bac: float, ev: float, ac: float) -> None:
    value = EarnedValue(bac, ev, ac)
    assert value.eac is not None
    assert value.etc is not None
    # What is left at the pace so far, counted the other way round.
    assert value.etc == pytest.approx((bac - ev) * ac / ev, abs=1e-6 * bac * max(1, ac / ev))
    if value.tcpi is not None:
        assert value.tcpi * (bac - ac) == pytest.approx(bac - ev)


def test_an_index_without_a_meaning_is_none() -> None:
    nothing = EarnedValue(20, 0, 0)
    assert nothing.cpi is nothing.spi is nothing.eac is nothing.etc is nothing.sv is None
    assert nothing.tcpi == 1
    assert EarnedValue(20, 15, 20).tcpi is None  # the budget is spent
    assert EarnedValue(20, 0, 5).eac is None  # nothing earned yet


def test_hours_are_earned_by_what_is_settled() -> None:
    planned = {Work.PREPARE: 2.0, Work.TRANSFER: 2.0, Work.BURN: 14.0, Work.FINISH: 2.0}
    settled = {Work.PREPARE: 1.0, Work.TRANSFER: 0.5, Work.BURN: 0.25}
    value = earned_value(planned, settled, 7.0, by_now=8.0)
    assert value == EarnedValue(bac=20.0, ev=2 + 1 + 3.5, ac=7.0, pv=8.0)


@pytest.mark.parametrize(
    ("value", "left", "words"),
    [
        (
            EarnedValue(30, 12.3, 14.1),
            of_quantiles(11, 13),
            "41 % done in 47 % of its hours; 9 to 13 h left",
        ),
        (EarnedValue(0, 0, 0), of_quantiles(4, 6), "not begun; 2.5 to 6 h left"),
        (EarnedValue(0, 0, 3), of_quantiles(4, 6), "0 % done; 2.5 to 6 h left"),
        (
            EarnedValue(10, 9.99, 12),
            of_quantiles(0.4, 0.6),
            "99 % done in 120 % of its hours; 0.3 to 0.6 h left",
        ),
        (
            EarnedValue(10, 5, 4),
            of_quantiles(7, 7.1),
            "50 % done in 40 % of its hours; about 7 h left",
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
