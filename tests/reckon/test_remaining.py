"""Hours left, and how a job's own hours change them.

Distributions against scipy.stats and numerical integration; learning against multivariate
normal conditioning by numpy and against simulation.
"""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from burnplan.reckon import remaining
from burnplan.reckon.remaining import NOTHING, RemainingHours, hours_left, share_burned
from burnplan.reckon.work import LineWork, Work, WorkPlan, ZoneWork

Z90 = float(stats.norm.ppf(0.9))


def test_zones_count_by_their_hours() -> None:
    """Twice the area of the same tone takes twice as long; bare wood takes none."""
    zones = (ZoneWork(1, 50, 0.9, 0.0), ZoneWork(2, 100, 0.9, 0.0), ZoneWork(3, 400, 0.0, 0.0))
    plan = WorkPlan(300, 400, 550, "basswood", 410, zones, LineWork())
    assert share_burned(plan, ()) == 0
    assert share_burned(plan, (1,)) == pytest.approx(1 / 3)
    assert share_burned(plan, [2, 2, 3]) == pytest.approx(2 / 3)
    assert share_burned(plan, (1, 2, 7)) == pytest.approx(1.0)
    bare = WorkPlan(300, 400, 550, "basswood", 410, zones[2:], LineWork())
    assert share_burned(bare, (3,)) == 1.0
    nowhere = bare._replace(zones=(ZoneWork(1, 0, 0.0, 0.0), *zones[2:]))
    assert share_burned(nowhere, (3,)) == 1.0
    assert share_burned(WorkPlan(300, 400, 0, "", None, (), LineWork()), (1,)) == 0.0


def forecast_of(
    p50: tuple[float, ...] = (1.5, 2, 12, 1), ratio: float = 1.6
) -> dict[str, dict[str, float]]:
    return {w.value: {"p50": m, "p90": m * ratio} for w, m in zip(Work, p50, strict=True)}


SETTLED = {Work.PREPARE: 1.0, Work.TRANSFER: 1.0}


def test_without_hours_the_forecast_is_shared_out() -> None:
    forecast = forecast_of()
    whole, half = hours_left(forecast, {}), hours_left(forecast, dict.fromkeys(Work, 0.5))
    assert half.p50 == pytest.approx(whole.p50 / 2)
    assert half.p80 == pytest.approx(whole.p80 / 2)
    # All stages slow or fast together: quantiles add up where spreads are alike.
    assert whole.p50 == pytest.approx(16.5)
    assert hours_left(forecast, {}, {}, {}) == whole
    assert hours_left(forecast, dict.fromkeys(Work, 1.0), {Work.BURN: 30.0}) == NOTHING


def test_a_slow_job_has_more_left_and_a_fast_one_less() -> None:
    forecast = forecast_of()
    settled = {**SETTLED, Work.BURN: 0.5}
    slow, even, fast = (
        hours_left(forecast, settled, {Work.BURN: 6 * factor}) for factor in (1.5, 1.0, 1 / 1.5)
    )
    assert fast.p50 < even.p50 < slow.p50
    assert even.p50 == pytest.approx(7, rel=0.01)
    # Between the forecast's pace and the job's own, which is not all there is to know.
    assert 7 < slow.p50 < 7 * 1.5


def test_hours_left_narrow_as_the_job_goes_on() -> None:
    forecast = forecast_of()
    shares = np.linspace(0, 0.98, 50)
    left = [
        hours_left(forecast, {**SETTLED, Work.BURN: share}, {Work.BURN: 12 * share})
        for share in shares
    ]
    widths = [one.quantile(0.9) - one.quantile(0.1) for one in left]
    assert all(later < earlier for earlier, later in pairwise(widths))
    # Narrower than by the share alone: the job's own hours have been learned from.
    assert left[25].quantile(0.9) / left[25].p50 < left[0].quantile(0.9) / left[0].p50


def test_learning_is_conditioning_a_multivariate_normal() -> None:
    """Against the textbook formula in one go: mean S Ko (So + N)^-1 y, by numpy."""
    spread = dict(zip(Work, (0.2, 0.3, 0.4, 0.25), strict=True))
    evidence = {Work.PREPARE: (1.0, 0.3), Work.TRANSFER: (1.0, -0.1), Work.BURN: (0.4, 0.5)}
    mean, doubt = remaining._own_pace(spread, evidence)
    sd = np.array([spread[w] for w in Work])
    together = np.full((4, 4), remaining._TOGETHER)
    np.fill_diagonal(together, 1.0)
    cover = (1 - remaining._SCATTER) * together * np.outer(sd, sd)
    seen = [0, 1, 2]
    noise = np.diag([remaining._SCATTER * sd[i] ** 2 / evidence[w][0] for i, w in
                     enumerate(list(Work)[:3])])  # fmt: skip
    gain = cover[:, seen] @ np.linalg.inv(cover[np.ix_(seen, seen)] + noise)
    ratios = np.array([evidence[w][1] for w in list(Work)[:3]])
    np.testing.assert_allclose([mean[w] for w in Work], gain @ ratios, rtol=1e-10)
    after = cover - gain @ cover[seen, :]
    np.testing.assert_allclose([doubt[w] for w in Work], np.diag(after), rtol=1e-10)


@given(st.floats(1, 50), st.floats(0.05, 0.9), st.floats(0.1, 3))
def test_what_is_left_beyond_hours_spent(median: float, spread: float, times: float) -> None:
    """First two moments beyond the hours spent, by numerical integration."""
    hours = median * times
    left = remaining._beyond(median, spread, hours)
    if np.log(times) / spread > 5:
        assert left.mean > 0
        return
    # Over the standard normal z of log hours; scipy's log-normal loses its far tail.
    bound = max(np.log(times) / spread, -9.0)
    top = max(bound, 0.0)

    def moment(power: int) -> float:
        value, _ = integrate.quad(
            lambda z: (median * np.exp(spread * z) - hours) ** power
            * np.exp(-(z**2 - top**2) / 2),
            bound, top + 10, limit=200,
        )  # fmt: skip
        return float(value)

    share = moment(0)
    assert left.mean == pytest.approx(moment(1) / share, rel=1e-4)
    assert left.variance + left.mean**2 == pytest.approx(moment(2) / share, rel=1e-3)


def test_the_far_tail_joins_on_smoothly() -> None:
    for spread in (0.1, 0.3, 0.6):
        near, far = (remaining._beyond(10, spread, 10 * np.exp(b * spread)) for b in (5.999, 6.001))
        assert far.mean == pytest.approx(near.mean, rel=0.12)
        assert far.p80 == pytest.approx(near.p80, rel=0.2)
    assert remaining._beyond(10, 0.3, 1e9).mean > 0
    assert remaining._beyond(10, 0.0, 4) == RemainingHours(6, 0)
    assert remaining._beyond(10, 0.0, 14) == RemainingHours(0, 0)


def test_hours_on_a_zone_that_is_not_done_come_off_but_never_all() -> None:
    forecast = forecast_of()
    fresh = hours_left(forecast, SETTLED)
    begun = hours_left(forecast, SETTLED, under_way={Work.BURN: 4})
    assert fresh.mean - 4 < begun.mean < fresh.mean
    # Without a zone done, all burning hours are of zones under way.
    assert hours_left(forecast, SETTLED, {Work.BURN: 4}) == begun
    stuck = hours_left(forecast, SETTLED, under_way={Work.BURN: 40})
    assert stuck.p50 > 1


@pytest.mark.parametrize("seed", range(3))
def test_four_fifths_of_simulated_jobs_stay_within_p80(seed: int) -> None:
    """Jobs that go at a pace of their own, with scatter between their parts."""
    random = np.random.default_rng(seed)
    ratio, p50 = 1.8, np.array((1.5, 2.0, 12.0, 1.0))
    sigma = np.log(ratio) / Z90
    forecast = forecast_of(tuple(p50), ratio)
    within, errors, blind = [], [], []
    for _ in range(1500):
        own = sigma * np.sqrt(1 - remaining._SCATTER)
        pace = own * (np.sqrt(0.5) * random.normal() + np.sqrt(0.5) * random.normal(size=4))
        # The burning in ten parts of its own scatter, four of them done.
        scatter = sigma * np.sqrt(remaining._SCATTER)
        parts = 1.2 * np.exp(pace[2] + scatter * np.sqrt(10) * 0.9 * random.normal(size=10))
        parts *= np.exp(-((scatter * np.sqrt(10) * 0.9) ** 2) / 2)
        ends = p50 * np.exp(pace + scatter * random.normal(size=4))
        spent = {Work.PREPARE: ends[0], Work.TRANSFER: ends[1], Work.BURN: parts[:4].sum()}
        settled = {**SETTLED, Work.BURN: 0.4}
        rest = parts[4:].sum() + ends[3]
        left = hours_left(forecast, settled, spent)
        within.append(rest <= left.p80)
        errors.append(abs(np.log(rest / left.p50)))
        blind.append(abs(np.log(rest / hours_left(forecast, settled).p50)))
    assert 0.76 <= np.mean(within) <= 0.86
    assert np.median(errors) < 0.85 * np.median(blind)


@pytest.mark.parametrize("median", [0.3, 1.0, 10.0])
@pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.8, 0.9, 0.99])
def test_hours_left_are_log_normal(median: float, share: float) -> None:
    left = remaining.of_quantiles(median, median * 1.7)
    theirs = stats.lognorm(np.log(1.7) / Z90, scale=median)
    assert left.quantile(share) == pytest.approx(theirs.ppf(share))
    assert left.chance_within(left.quantile(share)) == pytest.approx(share)
    assert (left.mean, left.variance) == pytest.approx(theirs.stats())
    assert (left.p50, left.p80) == pytest.approx((median, theirs.ppf(0.8)))
    assert left.chance_within(0) == 0
    assert remaining.of_quantiles(median, median * 1.7, 0.8).p80 == pytest.approx(median * 1.7)


def test_hours_without_spread_are_enough_or_not() -> None:
    for upper in (10, 9):
        left = remaining.of_quantiles(10, upper)
        assert left.variance == 0
        assert [left.chance_within(hours) for hours in (9.99, 10, 10.01)] == [0, 1, 1]
    assert remaining.of_quantiles(0, 5) == NOTHING
    assert (NOTHING.p50, NOTHING.p80, NOTHING.chance_within(0)) == (0, 0, 1)


def test_forecast_and_hours_left_agree_before_anything_is_done() -> None:
    """All stages slow or fast together: their quantiles add up, where spreads are alike."""
    whole = hours_left(forecast_of(), {})
    assert (whole.p50, whole.quantile(0.9)) == pytest.approx((16.5, 16.5 * 1.6))


def test_a_stage_of_no_hours_or_that_is_done_has_none_left() -> None:
    forecast = forecast_of((1.5, 0, 12, 1))
    assert hours_left(forecast, {}).p50 == pytest.approx(14.5)
    done = {**SETTLED, Work.BURN: 1.0}
    # Hours that are said to be under way on what is done change nothing.
    late = hours_left(forecast, done, under_way={Work.PREPARE: 2.0, Work.BURN: 3.0})
    assert late == hours_left(forecast, done)
    assert late.p50 == pytest.approx(1)


def test_a_job_half_burned_at_double_the_hours_by_hand() -> None:
    """One normal belief of log pace, of variance 3/4 s², seen once with noise of s²/4 over half."""
    s = np.log(1.6) / Z90
    forecast = {w.value: {"p50": 10.0 if w is Work.BURN else 0.0, "p90": 16.0} for w in Work}
    left = hours_left(forecast, {Work.BURN: 0.5}, {Work.BURN: 10.0})
    gain = 0.75 / (0.75 + 0.25 / 0.5)
    doubt = 0.75 * (1 - gain) + 0.25
    assert left.p50 == pytest.approx(5 * np.exp(gain * np.log(2)))
    assert left.quantile(0.9) == pytest.approx(left.p50 * np.exp(Z90 * s * np.sqrt(doubt)))


def test_what_one_stage_says_of_another_is_half() -> None:
    s = np.log(1.6) / Z90
    p50 = {Work.PREPARE: 2.0, Work.BURN: 10.0}
    forecast = {w.value: {"p50": p50.get(w, 0.0), "p90": p50.get(w, 0.0) * 1.6} for w in Work}
    left = hours_left(forecast, {Work.PREPARE: 1.0}, {Work.PREPARE: 4.0})
    gain = 0.75 * 0.5 / (0.75 + 0.25)
    doubt = 0.75 - gain * 0.75 * 0.5 + 0.25
    assert left.p50 == pytest.approx(10 * np.exp(gain * np.log(2)))
    assert left.quantile(0.9) == pytest.approx(left.p50 * np.exp(Z90 * s * np.sqrt(doubt)))


def test_a_clock_that_hardly_ran_makes_no_job_instant() -> None:
    """Ten seconds, or a week, on record of ten hours' burning: both are slips of the clock."""
    forecast = {work.value: {"p50": 10.0, "p90": 14.0} for work in Work}
    settled = {Work.BURN: 1.0}
    without = hours_left(forecast, settled).p50
    few, many = (
        hours_left(forecast, settled, {Work.BURN: hours}).p50 for hours in (10 / 3600, 168.0)
    )
    assert without / 2 < few < without < many < 2 * without
