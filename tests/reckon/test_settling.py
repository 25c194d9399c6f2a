"""Settling against readings drawn from known exponential approaches, and numerical sums."""

import math
import random
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from burnplan.errors import BadInput
from burnplan.reckon.settling import (
    Advice,
    DaysLeft,
    MeterReading,
    Unknown,
    Verdict,
    _fits,
    advise,
    days_left,
)

START = datetime(2027, 3, 1, 8, tzinfo=UTC)


@pytest.mark.parametrize(
    ("at", "moisture"),
    [(START, -1), (START, 201), (START, math.nan), (datetime(2027, 3, 1), 9)],  # noqa: DTZ001
)
def test_a_reading_that_cannot_be(at: datetime, moisture: float) -> None:
    with pytest.raises(BadInput):
        MeterReading(at, moisture)


# wait or go --------------------------------------------------------------------------------


def approach(
    level: float, first: float, pace: float, days: list[float], noise: float = 0, seed: int = 0
) -> list[MeterReading]:
    """Readings of wood that approaches a level exponentially, as a meter scatters them."""
    scatter = random.Random(seed)  # noqa: S311
    return [
        MeterReading(
            START + timedelta(days=day),
            level + (first - level) * math.exp(-day / pace) + scatter.gauss(0, noise),
        )
        for day in days
    ]


def advice_of(readings: list[MeterReading], shop: float, home: float | None = None) -> Advice:
    return advise(readings, shop, readings[-1].at, home=home)


@pytest.mark.parametrize(
    ("moisture", "verdict"),
    [(8, Verdict.GO), (8.9, Verdict.GO), (7.1, Verdict.GO), (9.2, Verdict.WAIT),
     (6.7, Verdict.WAIT)],
)  # fmt: skip
def test_it_goes_near_the_shops_emc_from_either_side(moisture: float, verdict: Verdict) -> None:
    advice = advice_of([MeterReading(START, moisture)], 8)
    assert advice.verdict is verdict
    assert advice.gap == pytest.approx(moisture - 8)


def test_the_last_reading_counts_whatever_their_order() -> None:
    readings = approach(8, 14, 5, [0, 4, 20])
    assert advise(reversed(readings), 8, readings[-1].at).moisture == readings[-1].moisture
    assert advice_of(readings, 8).verdict is Verdict.GO


def test_no_reading_no_advice() -> None:
    with pytest.raises(BadInput, match="no moisture reading"):
        advise([], 8, START)


@pytest.mark.parametrize(("first", "pace"), [(14.0, 6.0), (16.0, 12.0), (4.0, 8.0)])
def test_clean_readings_tell_the_day(first: float, pace: float) -> None:
    """Settled when within 1 % of the level: pace · ln(distance)."""
    readings = approach(8, first, pace, [0, 2, 4, 6, 8])
    left = advice_of(readings, 8).left
    truth = pace * math.log(abs(first - 8)) - 8
    assert left is not None
    assert left.low <= truth <= left.high
    assert left.likely == pytest.approx(truth, abs=max(2.0, 0.2 * truth))


def test_the_interval_holds_as_often_as_it_says() -> None:
    """P10 to P90 holds the truth about four times in five, over scattered histories.

    600 boards: paces about ten days, meters that scatter by half a per cent, an EMC known
    to one per cent. Binomial spread of the share is under 2 %.
    """
    draw = random.Random(7)  # noqa: S311
    held = told = below = 0
    for seed in range(600):
        pace, first = 10 * math.exp(draw.gauss(0, 0.7)), draw.choice((13.0, 15.0, 18.0, 3.0))
        level = 8 + draw.gauss(0, 0.7)
        days = [0.0, 2, 4, 7][: draw.choice((3, 4))]
        left = advice_of(approach(level, first, pace, days, 0.5, seed), 8).left
        if left is None:
            continue
        truth = max(0.0, pace * math.log(max(1.0, abs(first - level))) - days[-1])
        told += 1
        held += left.low <= truth <= left.high
        below += truth < left.likely
    assert told > 450
    assert 0.76 <= held / told <= 0.92
    assert 0.38 <= below / told <= 0.62


def test_more_readings_narrow_it() -> None:
    few = advice_of(approach(8, 16, 15, [0, 5, 10]), 8).left
    many = advice_of(approach(8, 16, 15, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]), 8).left
    assert few is not None
    assert many is not None
    assert many.high - many.low < few.high - few.low


def test_it_counts_from_today() -> None:
    readings = approach(8, 16, 15, [0, 5, 10])
    at_once = days_left(readings, 8, readings[-1].at)
    later = days_left(readings, 8, readings[-1].at + timedelta(days=5))
    assert isinstance(at_once, DaysLeft)
    assert isinstance(later, DaysLeft)
    assert later.likely == pytest.approx(at_once.likely - 5, abs=0.5)


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        (approach(8, 14, 10, [0]), Unknown.TOO_FEW),
        (approach(8, 14, 10, [0, 5]), Unknown.TOO_FEW),
        (approach(8, 14, 10, [0, 0.1, 0.2]), Unknown.TOO_FEW),
        (approach(8, 60, 10, [0, 2, 4]), Unknown.TOO_WET),
        (approach(20, 12, 10, [0, 4, 8]), Unknown.NOT_SETTLING),  # it takes moisture up
        (approach(14, 14, 10, [0, 5, 10, 15, 20, 25]), Unknown.NOT_SETTLING),  # it stands still
        (approach(10.6, 14, 2, [0, 3, 6, 9, 12, 15, 18]), Unknown.LEVELLED),
    ],
)
def test_when_the_readings_cannot_tell_it_says_so(
    readings: list[MeterReading], why: Unknown
) -> None:
    advice = advice_of(readings, 8)
    assert (advice.verdict, advice.left, advice.unknown) == (Verdict.WAIT, None, why)


def test_a_blank_held_back_by_scatter_only_has_no_days_left() -> None:
    left = advice_of(
        [*approach(8, 14, 3, [0, 5, 10]), MeterReading(START + timedelta(12), 9.1)], 8
    ).left
    assert left is not None
    assert left.likely == 0


def test_going_needs_no_days() -> None:
    advice = advice_of(approach(8, 14, 3, [0, 5, 20]), 8)
    assert (advice.left, advice.unknown) == (None, None)


def test_what_to_mind_besides() -> None:
    assert advice_of([MeterReading(START, 8)], 8, home=8.5).notes == ()
    assert any("swell" in note for note in advice_of([MeterReading(START, 8)], 8, home=11).notes)
    assert any("shrink" in note for note in advice_of([MeterReading(START, 8)], 8, home=5).notes)
    for moisture in (3, 45):  # Handbook ch. 13: meters measure about 4 to 30 %
        notes = advice_of([MeterReading(START, moisture)], 8).notes
        assert any("Wood Handbook" in note for note in notes)
    old = advise([MeterReading(START, 8)], 8, START + timedelta(days=15))
    assert any("15 days old" in note for note in old.notes)


def test_the_fit_is_that_of_numerical_integration() -> None:
    """Level, distance and noise summed over a fine lattice: same mean, spread and evidence.

    Priors as in the module: level ~ N(0, 4·v), distance ~ N(0, 900·v), that is 1 and 15 % at
    a noise of 0.5 %, and the noise variance v ~ inverse-gamma(2, 0.3).
    """
    days, gaps = np.array([0.0, 3, 6, 9]), np.array([6.2, 4.1, 3.3, 2.1])
    v = np.geomspace(0.004, 40, 160)[:, None, None]
    level = np.linspace(-12, 12, 161)[None, :, None]
    distance = np.linspace(-12, 24, 241)[None, None, :]

    def summed(pace: float) -> tuple[float, float, float]:
        squares = sum(
            (gap - level - distance * decay) ** 2
            for gap, decay in zip(gaps, np.exp(-days / pace), strict=True)
        )
        log = -0.5 * (squares + level**2 / 4 + distance**2 / 900) / v
        log = (
            log - (len(gaps) / 2 + 1 + 3 - 1) * np.log(v) - 0.3 / v
        )  # −1: a step in log v is v wide
        share = np.exp(log).sum(axis=(0, 1))
        at = distance.ravel()
        mean = (share * at).sum() / share.sum()
        spread = math.sqrt((share * (at - mean) ** 2).sum() / share.sum())
        return mean, spread, math.log(share.sum())

    paces = np.array([5.0, 12.0])
    found = zip(*_fits(days.tolist(), gaps.tolist(), paces), strict=True)
    fits = dict(zip(paces.tolist(), found, strict=True))
    sums = {pace: summed(pace) for pace in fits}
    for pace in fits:
        assert fits[pace][0] == pytest.approx(sums[pace][0], rel=0.01)
        # Student's t with 2·shape = 8 degrees is wider than its scale by sqrt(8/6).
        assert fits[pace][1] * math.sqrt(8 / 6) == pytest.approx(sums[pace][1], rel=0.03)
    assert fits[12.0][2] - fits[5.0][2] == pytest.approx(sums[12.0][2] - sums[5.0][2], abs=0.01)


@pytest.mark.parametrize(
    ("readings", "later", "tolerance"),
    [
        ([(0, 14.0), (3, 12.2), (6, 11.1), (9, 10.2)], 0, 1.0),
        ([(0, 14.0), (3, 12.2), (6, 11.1), (9, 10.2)], 3, 1.0),
        ([(0, 14.0), (3, 12.2), (6, 11.1), (9, 10.2)], 0, 0.5),
        ([(0, 3.0), (2, 4.2), (5, 5.6)], 0, 1.0),
        ([(0, 20.0), (10, 16.5), (20, 14.0), (30, 12.0)], 0, 2.0),
    ],
)
def test_days_left_are_those_of_a_fine_lattice_of_paces(
    readings: list[tuple[float, float]], later: float, tolerance: float
) -> None:
    """By scipy's multivariate Student-t for how well a pace explains the readings.

    Paces are log-normal about 10 days with a deviation of 1; the rest as in the fit above.
    """
    days, gaps = np.array([day for day, _ in readings]), np.array([m - 8 for _, m in readings])
    prior = np.diag([1 / 4, 1 / 900])
    found, weights = [], []
    nodes = stats.norm.ppf((np.arange(99) + 0.5) / 99)
    for z in np.linspace(-3, 3, 241):
        pace = 10 * math.exp(z)
        rows = np.stack([np.ones(len(days)), np.exp(-days / pace)], axis=1)
        spread = 0.3 / 2 * (np.eye(len(days)) + rows @ np.linalg.inv(prior) @ rows.T)
        evidence = stats.multivariate_t(np.zeros(len(days)), spread, df=4).logpdf(gaps)
        precision = prior + rows.T @ rows
        level, distance = np.linalg.solve(precision, rows.T @ gaps)
        left = gaps - rows @ [level, distance]
        rate = 0.3 + (left @ left + level**2 / 4 + distance**2 / 900) / 2
        scale = math.sqrt(rate / (2 + len(days) / 2) * np.linalg.inv(precision)[1, 1])
        still = np.abs(distance + scale * nodes) * math.exp(-(days[-1] + later) / pace) / tolerance
        found.append(pace * np.log(np.maximum(still, 1)))
        weights.append(np.full(99, math.exp(evidence - z**2 / 2)))
    values, weight = np.concatenate(found), np.concatenate(weights)
    order = np.argsort(values)
    share = np.cumsum(weight[order]) / weight.sum()
    low, likely, high = values[order][np.searchsorted(share, [0.1, 0.5, 0.9])]
    taken = [MeterReading(START + timedelta(days=day), moisture) for day, moisture in readings]
    ours = days_left(taken, 8, taken[-1].at + timedelta(days=later), tolerance=tolerance)
    assert isinstance(ours, DaysLeft)
    assert (ours.low, ours.likely, ours.high) == pytest.approx(
        (low, likely, high), rel=0.03, abs=0.1
    )


def taken_on(*readings: tuple[float, float]) -> list[MeterReading]:
    return [MeterReading(START + timedelta(days=day), moisture) for day, moisture in readings]


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ([(0, 12), (0.5, 11.9), (1, 11.8)], None),  # a day is enough
        ([(0, 12), (0.5, 11.9), (0.99, 11.8)], Unknown.TOO_FEW),
        ([(0, 12), (0.5, 11.9), (5, 10.5)], None),
        # Farther off than at first, by more than a meter scatters.
        ([(0, 10), (3, 13), (6, 10.6)], Unknown.NOT_SETTLING),
        ([(0, 10), (3, 9.5), (6, 10.5)], None),
        ([(0, 12), (3, 14), (6, 10.5)], None),
        ([(0, 12), (3, 11), (6, 29.9)], Unknown.NOT_SETTLING),
        ([(0, 12), (3, 11), (6, 30)], Unknown.TOO_WET),
        # Above fibre saturation readings say nothing of the approach.
        ([(0, 30), (3, 11), (6, 10.5)], Unknown.TOO_FEW),
        # Levelled: two deviations of a meter beyond the tolerance.
        ([(n * 3, 10.1 + 4 * 0.3**n) for n in range(9)], Unknown.LEVELLED),
        ([(n * 3, 9.9 + 4 * 0.3**n) for n in range(9)], None),
    ],
)
def test_what_readings_can_tell(readings: list[tuple[float, float]], why: Unknown | None) -> None:
    taken = taken_on(*readings)
    found = days_left(taken, 8, taken[-1].at)
    assert found is why if why else isinstance(found, DaysLeft)


def test_notes_are_given_beyond_their_limits_only() -> None:
    for home, notes in ((10.0, 0), (10.1, 1), (6.0, 0), (5.9, 1)):
        assert len(advice_of(taken_on((0, 8)), 8, home=home).notes) == notes
    for moisture, notes in ((4.0, 0), (3.9, 1), (30.0, 0), (30.1, 1)):
        assert len(advice_of(taken_on((0, moisture)), moisture).notes) == notes
    for age, notes in ((14, 0), (14.1, 1)):
        advice = advise(taken_on((0, 8)), 8, START + timedelta(days=age))
        assert len(advice.notes) == notes
    for moisture in (0, 200):
        assert MeterReading(START, moisture).moisture == moisture


@given(
    st.lists(st.tuples(st.floats(0, 60), st.floats(0, 40)), min_size=1, max_size=8),
    st.floats(4, 18),
    st.floats(0, 30),
)
def test_advice_is_always_given_and_in_order(
    taken: list[tuple[float, float]], shop: float, later: float
) -> None:
    readings = [MeterReading(START + timedelta(days=day), moisture) for day, moisture in taken]
    now = max(reading.at for reading in readings) + timedelta(days=later)
    advice = advise(readings, shop, now)
    assert (advice.verdict is Verdict.GO) is (abs(advice.gap) <= 1)
    if advice.left:
        assert 0 <= advice.left.low <= advice.left.likely <= advice.left.high < math.inf
    assert advice.verdict is Verdict.GO or (advice.left is None) is (advice.unknown is not None)
