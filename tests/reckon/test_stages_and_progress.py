"""Stages, checklists, hours left.

Log-normal sums: L. F. Fenton, IRE Trans. Commun. Syst. 8 (1960). Earliest due date:
J. R. Jackson (1955). Quantiles against scipy.stats.
"""

import copy

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from burnplan.reckon.checklist import Job, Kept, ZoneToBurn, merge, steps_for
from burnplan.reckon.progress import (
    NOTHING,
    Left,
    Waiting,
    chances_on_time,
    hours_left,
    of_quantiles,
)
from burnplan.reckon.stages import Facts, Phase, Stage, stage_of
from burnplan.reckon.work import Work
from burnplan.wood.grits import still_to_do

phases = st.builds(Phase, st.integers(0, 3), st.integers(0, 3))
some_facts = st.builds(
    Facts, *(st.booleans() for _ in range(3)), phases, phases, phases, phases, *(st.booleans(),) * 3
)


@given(some_facts, st.sampled_from(["prepare", "transfer", "burn", "finish"]))
def test_settling_a_step_never_sets_a_job_back(facts: Facts, name: str) -> None:
    phase: Phase = getattr(facts, name)
    if not phase.open:
        return
    further = copy.copy(facts)
    object.__setattr__(further, name, Phase(phase.settled + 1, phase.open - 1))
    order = list(Stage)
    assert order.index(stage_of(further)) >= order.index(stage_of(facts))


@pytest.mark.parametrize(
    ("facts", "stage"),
    [
        (Facts(), Stage.ENQUIRY),
        (Facts(quoted=True), Stage.PRICED),
        (Facts(quoted=True, accepted=True), Stage.PRICED),
        (Facts(quoted=True, accepted=True, deposit_met=True), Stage.BOOKED),
        (Facts(prepare=Phase(3, 0)), Stage.PREPARED),
        (Facts(prepare=Phase(3, 0), transfer=Phase(2, 0)), Stage.TRANSFERRED),
        (Facts(burned=True), Stage.BURNING),
        (Facts(burn=Phase(1, 2)), Stage.BURNING),
        (Facts(burn=Phase(3, 0)), Stage.FINISHING),
        (Facts(burn=Phase(3, 0), finish=Phase(3, 0)), Stage.READY),
        (Facts(burn=Phase(0, 0), finish=Phase(3, 0)), Stage.ENQUIRY),
        (Facts(delivered=True), Stage.DELIVERED),
        (Facts(delivered=True, dropped=True), Stage.DROPPED),
    ],
)
def test_the_stage_of(facts: Facts, stage: Stage) -> None:
    assert stage_of(facts) is stage


def test_the_transfer_is_in_the_order_of_the_trade() -> None:
    """Common practice, no source."""
    keys = [step.key for step in steps_for(Job(sanding=still_to_do(None)))]
    order = ["print", "cut", "hinge", "hold", "graphite", "features", "contours", "check",
             "take-off", "sand-back", "burn"]  # fmt: skip
    assert [key for key in keys if key in order] == order


def test_the_cautions_are_there() -> None:
    words = " ".join(step.caution for step in steps_for(Job(sanding=still_to_do(None))))
    for danger in ("smoke", "treated", "dust", "rags", "burn"):
        assert danger in words.lower()


kept_steps = st.lists(
    st.builds(Kept, st.sampled_from("abcdefgh"), st.booleans()), unique_by=lambda step: step.key
)


@given(kept_steps, st.integers(0, 6), st.integers(0, 4))
def test_merging_keeps_what_was_touched(
    on_record: list[Kept], zones: int, reached_index: int
) -> None:
    reached = [None, 120, 150, 220, 320][reached_index]
    job = Job(
        sanding=still_to_do(reached), zones=tuple(ZoneToBurn(z, 10, 0.5) for z in range(1, zones))
    )
    wanted = steps_for(job)
    before = [*on_record, Kept("cut", True), Kept("zone-9", False)]
    change = merge(before, wanted)
    touched = {step.key for step in before if step.touched}
    assert not touched & set(change.drop)
    assert not touched & {step.key for step in change.update}
    after = ({step.key for step in before} - set(change.drop)) | {s.key for s in change.add}
    assert after == touched | {step.key for step in wanted}


@given(st.floats(0.01, 500), st.floats(1.01, 5), st.floats(0.05, 0.95))
def test_quantiles_are_those_of_the_log_normal(p50: float, ratio: float, share: float) -> None:
    left = of_quantiles(p50, p50 * ratio)
    sigma = np.log(ratio) / stats.norm.ppf(0.9)
    assert left.quantile(share) == pytest.approx(stats.lognorm(sigma, scale=p50).ppf(share))
    assert left.chance_within(left.quantile(share)) == pytest.approx(share)


def test_hours_left_shrink_to_nothing() -> None:
    forecast = {work.value: {"p50": 2.0, "p90": 4.0} for work in Work}
    whole = hours_left(forecast, {})
    half = hours_left(forecast, dict.fromkeys(Work, 0.5))
    assert half.p50 == pytest.approx(whole.p50 / 2)
    assert hours_left(forecast, dict.fromkeys(Work, 1.0)).p80 == 0


def test_chances_agree_with_a_simulation() -> None:
    """Fenton's sum of log-normals against 200 000 draws, within two points."""
    random = np.random.default_rng(7)
    jobs = [of_quantiles(5, 9), of_quantiles(12, 20), of_quantiles(3, 4)]
    free = [8.0, 22.0, 24.0]
    sigmas = [np.log(u / m) / stats.norm.ppf(0.9) for m, u in ((5, 9), (12, 20), (3, 4))]
    drawn = np.cumsum(
        [
            m * np.exp(s * random.normal(size=200_000))
            for m, s in zip((5, 12, 3), sigmas, strict=True)
        ],
        axis=0,
    )
    simulated = [float(np.mean(row <= hours)) for row, hours in zip(drawn, free, strict=True)]
    queue = [Waiting(job, hours) for job, hours in zip(jobs, free, strict=True)]
    for chance, expected in zip(chances_on_time(queue), simulated, strict=True):
        assert chance == pytest.approx(expected, abs=0.02)


def test_nothing_left_is_on_time_and_no_time_is_late() -> None:
    assert chances_on_time([Waiting(NOTHING, 0.0)]) == [1.0]
    assert chances_on_time([Waiting(Left(5, 1), 0.0), Waiting(Left(1, 0), None)]) == [0.0, None]
