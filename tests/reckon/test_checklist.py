"""The checklist made for a job, and how it is brought up to date.

The order and the reasons of the steps are common practice, no source; the
cautions name theirs (IARC, NIOSH, HSE) and are compared with it here.
"""

from dataclasses import dataclass, replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.reckon.checklist import (
    ChecklistJob,
    KeptStep,
    Merge,
    Phase,
    StepPlan,
    Use,
    ZoneToBurn,
    merge,
    place_of,
    steps_for,
)
from burnplan.wood import cautions
from burnplan.wood.grits import still_to_do
from burnplan.zone_names import LETTERING

ZONES = tuple(ZoneToBurn(zone, 100 + zone, 1 - 0.19 * (zone - 1)) for zone in range(1, 7))
FULL = ChecklistJob(
    size="30 × 40 cm",
    blank="B-0003",
    wood="Basswood",
    wood_cautions=("May irritate skin",),
    sanding=still_to_do(150),
    zones=ZONES,
)
some_jobs = st.builds(
    ChecklistJob,
    size=st.sampled_from(["", "30 × 40 cm", "8 × 10 in"]),
    blank=st.sampled_from(["", "B-0003"]),
    wood=st.sampled_from(["", "Basswood", "Cherry"]),
    wood_cautions=st.sampled_from([(), ("May irritate skin",)]),
    sanding=st.builds(
        still_to_do, st.sampled_from([None, 80, 120, 150, 220, 320]), raised=st.booleans()
    ),
    left_handed=st.booleans(),
    zones=st.integers(0, 9).map(lambda count: ZONES[:count]),
    lost_edges=st.booleans(),
    use=st.sampled_from(Use),
    coats=st.integers(0, 5),
)


def keys_of(job: ChecklistJob, phase: Phase | None = None) -> list[str]:
    return [step.key for step in steps_for(job) if phase in (None, step.phase)]


def step_of(job: ChecklistJob, key: str) -> StepPlan:
    return next(step for step in steps_for(job) if step.key == key)


@pytest.mark.long
@given(some_jobs)
def test_every_job_has_every_phase_in_order_and_each_key_once(job: ChecklistJob) -> None:
    steps = steps_for(job)
    phases = [step.phase for step in steps]
    assert phases == sorted(phases, key=list(Phase).index)
    assert set(phases) == set(Phase)
    assert len({step.key for step in steps}) == len(steps)
    assert all(step.text and not step.text.endswith(".") for step in steps)
    assert not any("  " in step.text or "None" in step.text for step in steps)


@given(some_jobs)
def test_every_step_has_its_place_in_the_order_of_work(job: ChecklistJob) -> None:
    places = [place_of(step.key) for step in steps_for(job)]
    assert places == sorted(set(places))
    assert places[-1] < place_of("of-an-older-program")


def test_the_most_that_a_job_can_ask_for_has_its_place() -> None:
    """Nine zones and twelve coats; what stands for the zones comes where they begin."""
    assert place_of("zone-1") == place_of("burn")
    assert place_of("zone-9") + 1 == place_of(f"zone-{LETTERING}")
    assert place_of(f"zone-{LETTERING}") + 1 == place_of("compare")
    assert place_of("coat-12") + 1 == place_of("hang")
    assert place_of("zone-11") == place_of("coat-13") > place_of("hand-over")


def test_the_words_are_of_this_job() -> None:
    assert step_of(FULL, "choose").text == (
        "Set aside blank B-0003 of basswood, 30 × 40 cm: dry, flat, no knots under a face"
    )
    bare = ChecklistJob()
    assert step_of(bare, "choose").text == "Set aside a blank: dry, flat, no knots under a face"
    assert step_of(bare, "hold").text.startswith("One more tape, low on the right side")
    assert [key for key in keys_of(bare) if key.startswith("coat")] == [
        "coat-1",
        "coat-2",
        "coat-3",
    ]
    assert step_of(bare, "coat-1").text == "Lay coat 1 of the finish"
    assert step_of(bare, "coat-3").text == (
        "Lay coat 3 of the finish, once coat 2 has dried as its label says"
    )
    oiled = replace(FULL, finish="hard wax oil", next_coat_hours=12.5)
    assert step_of(oiled, "coat-1").text == "Lay coat 1 of hard wax oil"
    assert step_of(oiled, "coat-2").text == (
        "Lay coat 2 of hard wax oil, 12.5 h after coat 1 at the earliest, as its label says"
    )
    assert [bool(step_of(oiled, f"coat-{coat}").caution) for coat in (1, 2, 3)] == [
        True,
        False,
        False,
    ]


def test_each_zone_says_what_it_is() -> None:
    zones = (
        ZoneToBurn(1, 12.4, 0.876), ZoneToBurn(2, 20.6, 0.12), ZoneToBurn(3, 7.5, 0.119),
        ZoneToBurn(4, 80.0, 0.004),
    )  # fmt: skip
    steps = [step for step in steps_for(replace(FULL, zones=zones)) if step.zone]
    assert [step.text for step in steps] == [
        "Burn Z1: features first, then the fill, 12.4 cm², darkness 88 %",
        "Burn Z2: 20.6 cm², darkness 12 %",
        "Burn Z3 faintly, 7.5 cm²: bare wood where the reference is lightest",
        "Leave Z4 bare, 80 cm²: its tone is that of the wood",
    ]
    assert [step.caution.split(" ")[0] for step in steps] == ["Draw", "Tone", "", ""]


def test_a_title_alone_gives_a_checklist_to_begin_with() -> None:
    words = " ".join(step.text for step in steps_for(ChecklistJob()))
    assert "blank B" not in words
    assert keys_of(ChecklistJob(), Phase.BURN) == ["burn"]
    assert "at the wood's size" in step_of(ChecklistJob(), "print").text


@pytest.mark.parametrize(
    ("reached", "raised", "keys"),
    [
        (None, False, ["sand-120", "sand-150", "sand-220", "raise-grain", "sand-320"]),
        (150, False, ["sand-220", "raise-grain", "sand-320"]),
        (220, False, ["raise-grain", "sand-320"]),
        (220, True, ["sand-320"]),
        (320, False, []),
    ],
)
def test_only_the_grits_still_to_do(reached: int | None, raised: bool, keys: list[str]) -> None:
    job = ChecklistJob(sanding=still_to_do(reached, raised=raised))
    sanding = [k for k in keys_of(job, Phase.PREPARE) if k.startswith("sand-") or k[:5] == "raise"]
    assert sanding == keys
    if "raise-grain" in keys:
        words = step_of(job, "raise-grain").text.lower()
        assert "damp" in words
        assert "dry" in words


def test_the_transfer_in_the_order_of_the_trade() -> None:
    assert keys_of(FULL, Phase.TRANSFER) == [
        "print", "cut", "hinge", "hold", "graphite", "features", "darkest", "contours",
        "lost-edges", "check", "take-off", "sand-back",
    ]  # fmt: skip
    assert "lost-edges" not in keys_of(replace(FULL, lost_edges=False))
    assert "30 × 40 cm" in step_of(FULL, "print").text
    assert "Weak tape" in step_of(FULL, "hinge").caution
    assert "along the top" in step_of(FULL, "hinge").text
    assert "never carbon" in step_of(FULL, "graphite").caution
    assert "dull side down" in step_of(FULL, "graphite").text
    assert "red" in step_of(FULL, "features").text
    assert "before the trace sheet comes off" in step_of(FULL, "check").text
    assert "trace sheet goes on the wood" in step_of(FULL, "print").caution
    assert "hard to remove" in step_of(FULL, "sand-back").caution
    assert keys_of(FULL).index("sand-back") < keys_of(FULL).index("zone-1")


def test_the_passes_are_traced_in_order_by_the_names_they_have_everywhere() -> None:
    job = replace(FULL, strokes=(10, 1, 182))
    assert [step_of(job, key).text for key in ("features", "darkest", "contours")] == [
        "Trace pass 1 with a red pen, firmly: basic shapes and features (10 strokes)",
        "Trace pass 2: edges of the darkest values (1 stroke)",
        "Trace pass 3: contours, lighter (182 strokes)",
    ]
    assert "with a blue pen" in step_of(replace(job, pen="blue"), "features").text
    assert "Blue shows" in step_of(replace(job, pen="blue"), "features").caution
    assert "darkest" not in keys_of(replace(FULL, strokes=(10, 0, 182)))
    empty = replace(FULL, strokes=(0, 0, 0))
    assert step_of(empty, "features").text.endswith("firmly: basic shapes and features")
    assert "contours" not in keys_of(empty)


def test_a_pass_that_was_traced_as_part_of_another_is_not_asked_for_again() -> None:
    """Features and the darkest values were one step once."""
    wanted = steps_for(FULL)
    before = [KeptStep(key, True) for key in keys_of(FULL) if key != "darkest"]
    assert merge(before, wanted) == Merge((), (), ())
    undone = [KeptStep(step.key, step.touched and step.key != "features") for step in before]
    change = merge(undone, wanted)
    assert [step.key for step in change.add] == ["darkest"]
    assert [step.key for step in change.update] == ["features"]
    split = [*before, KeptStep("darkest", False)]
    assert [step.key for step in merge(split, wanted).update] == ["darkest"]


@pytest.mark.parametrize(("left_handed", "hand", "free"), [(False, "right", "left"),
                                                          (True, "left", "right")])  # fmt: skip
def test_the_graphite_paper_is_loose_away_from_the_drawing_hand(
    left_handed: bool, hand: str, free: str
) -> None:
    job = replace(FULL, left_handed=left_handed)
    assert step_of(job, "graphite").text.endswith(f"loose end to the {free}")
    assert f"low on the {hand} side" in step_of(job, "hold").text


def test_one_step_for_each_zone_the_darkest_first() -> None:
    steps = [step for step in steps_for(replace(FULL, zones=ZONES[::-1])) if step.zone]
    assert [step.zone for step in steps] == [1, 2, 3, 4, 5, 6]
    assert {step.phase for step in steps} == {Phase.BURN}
    assert "features first" in steps[0].text
    assert "bare wood" in steps[-1].text
    assert keys_of(FULL, Phase.BURN) == [f"zone-{zone}" for zone in range(1, 7)]


def test_finishing_checks_before_it_covers() -> None:
    keys = keys_of(FULL, Phase.FINISH)
    assert keys == ["compare", "sign", "clean", "coat-1", "coat-2", "coat-3", "hang", "photograph"]
    assert "label" in step_of(FULL, "coat-1").caution
    assert "coat 1 has dried" in step_of(FULL, "coat-2").text
    assert "hang" not in keys_of(replace(FULL, use=Use.FOOD))
    assert not [key for key in keys_of(replace(FULL, coats=0)) if key.startswith("coat")]


@pytest.mark.parametrize(
    "job",
    [
        ChecklistJob(),
        FULL,
        ChecklistJob(sanding=still_to_do(None), use=Use.FOOD),
        ChecklistJob(sanding=still_to_do(220)),  # the grain is raised before the first grit
        ChecklistJob(sanding=still_to_do(220, raised=True)),  # one grit: the first and the last
    ],
)
def test_cautions_are_never_left_out(job: ChecklistJob) -> None:
    """Sources: IARC vol. 100C and NIOSH (dust), HSE WIS30 (unknown wood)."""
    said = {step.key: step.caution for step in steps_for(job)}
    assert "treated" in said["sound-wood"]
    assert "HSE WIS30" in said["sound-wood"]
    assert all(caution in said["sound-wood"] for caution in job.wood_cautions)
    if job.sanding:
        grits = [text for key, text in said.items() if key.startswith("sand-") and key[5].isdigit()]
        assert "IARC Group 1" in grits[0]
        assert "NIOSH" in grits[0]
        assert "smooth face" in grits[-1]
        assert not any("NIOSH" in text for text in grits[1:])
    first_burn = next(step for step in steps_for(job) if step.phase is Phase.BURN)
    assert "smoke" in first_burn.caution.lower()
    assert "smoulder" in first_burn.caution
    assert "stand" in said["try-tones"]
    if job.coats:
        assert "rags" in said["coat-1"].lower()
    if job.use is Use.FOOD:
        assert "food" in said["coat-1"]


# ---- bringing a checklist up to date -------------------------------------------------
@dataclass(frozen=True)
class Worded(KeptStep):
    """A step with its words, which a merge must not change where it was touched."""

    text: str


Record = dict[str, Worded]


def applied(record: Record, wanted: tuple[StepPlan, ...]) -> Record:
    """Do what a merge says, as the desk does."""
    change = merge(list(record.values()), wanted)
    after = {key: kept for key, kept in record.items() if key not in change.drop}
    for plan in (*change.update, *change.add):
        touched = plan.key in after and after[plan.key].touched
        after[plan.key] = Worded(plan.key, touched, plan.text)
    return after


@st.composite
def records(draw: st.DrawFn) -> Record:
    """A checklist as made for some job, partly settled, with steps of the artist's own."""
    record = {
        step.key: Worded(step.key, draw(st.booleans()), step.text)
        for step in steps_for(draw(some_jobs))
    }
    for number in range(draw(st.integers(0, 3))):
        record[f"own-{number}"] = Worded(f"own-{number}", True, f"Something of mine {number}")
    return record


@given(records(), some_jobs)
def test_what_was_touched_stays_word_for_word(record: Record, job: ChecklistJob) -> None:
    after = applied(record, steps_for(job))
    for key, kept in record.items():
        if kept.touched:
            assert after[key] == kept


@given(records(), some_jobs)
def test_everything_untouched_is_what_the_job_needs_now(record: Record, job: ChecklistJob) -> None:
    wanted = {step.key: step.text for step in steps_for(job)}
    after = applied(record, steps_for(job))
    assert wanted.keys() <= after.keys()
    for key, kept in after.items():
        if not kept.touched:
            assert kept.text == wanted[key]


@given(records(), some_jobs)
def test_merging_again_changes_nothing(record: Record, job: ChecklistJob) -> None:
    once = applied(record, steps_for(job))
    assert applied(once, steps_for(job)) == once
    change = merge(list(once.values()), steps_for(job))
    assert not change.drop
    assert not change.add


@pytest.mark.long
@given(records(), some_jobs, some_jobs)
def test_changing_ones_mind_and_back_is_as_if_it_had_not_been(
    record: Record, job: ChecklistJob, other: ChecklistJob
) -> None:
    there = applied(record, steps_for(job))
    assert applied(applied(there, steps_for(other)), steps_for(job)) == there


def test_a_blank_chosen_later_keeps_ticks_and_own_steps() -> None:
    record = {step.key: Worded(step.key, False, step.text) for step in steps_for(ChecklistJob())}
    record["sound-wood"] = Worded("sound-wood", True, record["sound-wood"].text)
    record["own-1"] = Worded("own-1", True, "Ask about the frame")
    after = applied(record, steps_for(FULL))
    assert after["own-1"].text == "Ask about the frame"
    assert after["sound-wood"].touched
    assert "B-0003" in after["choose"].text
    assert "burn" not in after
    assert "zone-6" in after


@pytest.mark.parametrize(("before", "after"), list(product((0, 3, 6), (0, 3, 6))))
def test_zones_replanned_keep_the_burned_ones(before: int, after: int) -> None:
    steps = steps_for(replace(FULL, zones=ZONES[:before]))
    record = {step.key: Worded(step.key, step.phase is Phase.BURN, step.text) for step in steps}
    merged = applied(record, steps_for(replace(FULL, zones=ZONES[:after])))
    burned = {step.key for step in steps if step.phase is Phase.BURN}
    assert burned <= {key for key, kept in merged.items() if kept.touched}
    assert {f"zone-{zone}" for zone in range(1, after + 1)} <= merged.keys()


def test_a_zone_that_is_nowhere_is_not_burned() -> None:
    """Thresholds given may part nothing: it has no step, and cautions come with the first."""
    zones = (ZoneToBurn(1, 0.0, 0.0), ZoneToBurn(2, 0.0, 0.0), ZoneToBurn(3, 93.0, 0.5))
    steps = [one for one in steps_for(ChecklistJob(zones=zones)) if one.phase is Phase.BURN]
    assert [one.zone for one in steps] == [3]
    assert steps[0].caution == f"{cautions.SMOKE}. {cautions.FIRE}"
