"""The stage of a commission, over every mixture of facts.

The order of stages is the project's own; the checks are that it is total, that
it agrees with a second statement of the rule written as a table of proofs, and
that more done never sets a job back.
"""

from collections.abc import Iterator
from itertools import product
from typing import Any

import pytest

from burnplan.reckon.stages import Facts, PhaseCount, Stage, has_reached, stage_of

FLAGS = ("quoted", "accepted", "deposit_met", "burned", "delivered", "dropped")
PHASES = ("prepare", "transfer", "burn", "finish")
# None, untouched, half way, done.
SOME_PHASES = (PhaseCount(), PhaseCount(0, 2), PhaseCount(1, 1), PhaseCount(2, 0))
ORDER = list(Stage)


def every_mixture() -> Iterator[Facts]:
    for flags in product((False, True), repeat=len(FLAGS)):
        for phases in product(SOME_PHASES, repeat=len(PHASES)):
            known: dict[str, Any] = dict(zip((*FLAGS, *PHASES), (*flags, *phases), strict=True))
            yield Facts(**known)


def proofs(facts: Facts) -> dict[Stage, bool]:
    """Each stage with what proves it by itself."""
    zones_burned = facts.burn.settled > 0 and facts.burn.open == 0
    return {
        Stage.ENQUIRY: True,
        Stage.PRICED: facts.quoted or facts.accepted,
        Stage.BOOKED: facts.accepted and facts.deposit_met,
        Stage.PREPARED: facts.prepare.settled > 0 and facts.prepare.open == 0,
        Stage.TRANSFERRED: facts.transfer.settled > 0 and facts.transfer.open == 0,
        Stage.BURNING: facts.burned or facts.burn.settled > 0,
        Stage.FINISHING: zones_burned,
        Stage.READY: zones_burned and facts.finish.settled > 0 and facts.finish.open == 0,
        Stage.DELIVERED: facts.delivered,
        Stage.DROPPED: facts.dropped,
    }


def one_step_further(facts: Facts) -> Iterator[Facts]:
    """Each way that one more thing can get done."""
    for name in FLAGS:
        if not getattr(facts, name):
            done: dict[str, Any] = {name: True}
            yield facts._replace(**done)
    for name in PHASES:
        phase: PhaseCount = getattr(facts, name)
        if phase.open:
            ticked: dict[str, Any] = {name: PhaseCount(phase.settled + 1, phase.open - 1)}
            yield facts._replace(**ticked)


def test_no_fact_is_left_out_of_the_mixtures() -> None:
    assert set(Facts._fields) == {*FLAGS, *PHASES}


def test_every_mixture_has_the_furthest_stage_it_proves() -> None:
    seen = set()
    for facts in every_mixture():
        proved = [stage for stage, proof in proofs(facts).items() if proof]
        assert stage_of(facts) is max(proved, key=ORDER.index)
        seen.add(stage_of(facts))
    assert seen == set(Stage)


def test_more_done_never_sets_a_job_back() -> None:
    for facts in every_mixture():
        here = ORDER.index(stage_of(facts))
        assert all(ORDER.index(stage_of(more)) >= here for more in one_step_further(facts))


def test_the_stages_are_named_in_the_order_of_the_trade() -> None:
    assert [stage.value for stage in Stage] == [
        "enquiry", "priced", "booked", "prepared", "transferred", "burning", "finishing",
        "ready", "delivered", "dropped",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("facts", "stage"),
    [
        # Burned before it was booked: what was done to the wood wins.
        (Facts(burned=True), Stage.BURNING),
        (Facts(quoted=True, burned=True, prepare=PhaseCount(0, 5)), Stage.BURNING),
        # Traced, with a step of the preparation never ticked.
        (Facts(transfer=PhaseCount(9, 0), prepare=PhaseCount(4, 1)), Stage.TRANSFERRED),
        # No step of finishing: none can be done, so it waits to be handed over.
        (Facts(burn=PhaseCount(5, 0)), Stage.FINISHING),
        # No steps at all, and a finish ticked over unburned zones, prove nothing of the wood.
        (Facts(finish=PhaseCount(3, 0), burn=PhaseCount(0, 4)), Stage.ENQUIRY),
        (Facts(accepted=True, deposit_met=True, finish=PhaseCount(3, 0)), Stage.BOOKED),
        # A deposit that was not asked for is met, but books nothing by itself.
        (Facts(deposit_met=True), Stage.ENQUIRY),
        # Handed over with everything else open.
        (Facts(delivered=True, burn=PhaseCount(0, 6)), Stage.DELIVERED),
    ],
)
def test_facts_out_of_order(facts: Facts, stage: Stage) -> None:
    assert stage_of(facts) is stage


@pytest.mark.parametrize(
    ("count", "complete", "share"),
    [
        (PhaseCount(), False, 0),
        (PhaseCount(0, 2), False, 0),
        (PhaseCount(1, 3), False, 0.25),
        (PhaseCount(1), True, 1),
        (PhaseCount(3, 0), True, 1),
    ],
)
def test_how_much_of_a_phase_is_settled(count: PhaseCount, complete: bool, share: float) -> None:
    assert (count.complete, count.share) == (complete, share)


def test_a_stage_is_reached_from_itself_on_but_never_when_dropped() -> None:
    for stage, wanted in product(ORDER[:-1], ORDER[:-1]):
        assert has_reached(stage, wanted) == (ORDER.index(stage) >= ORDER.index(wanted))
        assert not has_reached(Stage.DROPPED, wanted)
