"""The day: what stands on it, what the clock takes up, and what a tick answers."""

import re
import shlex
from datetime import timedelta
from pathlib import Path

import pytest

from burnplan.desk.jobs import checklists, commissions, endings, finishing, references, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import planned_sessions, today
from burnplan.desk.wood import ladders, zone_settings
from burnplan.desk.wood.ladders import NewLadder
from tests.cli.conftest import Run
from tests.conftest import FixedClock


def _job(studio: Studio, title: str, days: int | None = None) -> str:
    due = None if days is None else studio.today() + timedelta(days=days)
    code = commissions.add(studio, Wishes(title=title, size="12x9cm", due=due)).code
    quotes.issue(studio, code, quotes.QuoteRequest(hours=3, price="100"))
    accepting.accept(studio, code)
    return code


def _pay(studio: Studio, *codes: str) -> None:
    for code in codes:
        payments.take(studio, code, "40", "deposit")


@pytest.fixture
def jobs(studio: Studio) -> tuple[str, str, str]:
    """Three booked jobs: one without a date, one for a month, one that cannot be on time."""
    made = _job(studio, "Owl"), _job(studio, "Fox", 30), _job(studio, "Wren", 0)
    _pay(studio, *made)
    return made


def test_why_money_is_open_is_said_of_a_job_that_is_late_too(
    burnplan: Run, studio: Studio, clock: FixedClock
) -> None:
    owl = _job(studio, "Owl", 1)
    clock.forward(days=3)
    (seen,) = today.look(studio).money
    assert (seen.code, seen.attention, seen.money_why) == (owl, "2 days late", "deposit not in")
    money, _, _ = burnplan("today")[1].partition("Money")[2].partition("To look after")
    assert "deposit not in" in money
    assert "late" not in money


def test_the_day_has_what_to_do_and_what_to_see_to(
    burnplan: Run, studio: Studio, clock: FixedClock, jobs: tuple[str, str, str]
) -> None:
    owl, fox, wren = jobs
    planned_sessions.add(studio, fox, studio.now() + timedelta(hours=2), timedelta(hours=1))
    planned_sessions.add(studio, owl, studio.now() + timedelta(days=2), timedelta(hours=1))
    waits = _job(studio, "Stoat", 60)
    endings.deliver(studio, owl)
    day = timedelta(days=1)
    finishing.plan(studio, fox, "oil", coats=2, dry=timedelta(hours=2), next_coat=day)
    checklists.tick(studio, fox, ["coat-1"])
    sessions.start(studio, wren, sessions.Doing(work="prepare"))
    found = today.look(studio)
    assert found.clock is not None
    assert found.clock.code == wren
    assert [one.code for one in found.planned] == [fox]
    assert [one.code for one in found.next] == [wren, fox]
    assert {one.code for one in found.money} == {owl, waits}
    assert [one.code for one in found.risk] == [wren]
    assert found.coats == []
    shown = burnplan("today")[1]
    for words in ("clock running", "Planned", "delivered: balance due", "deposit not in"):
        assert words in shown
    clock.forward(days=1, hours=1)
    assert [one.code for one in today.look(studio).coats] == [fox]


def test_an_empty_day_says_what_to_do(burnplan: Run) -> None:
    shown = burnplan("today")[1]
    assert "The clock stands still" in shown
    assert "burnplan jobs" in shown


def test_the_clock_takes_up_what_is_planned_or_was_last_worked_on(
    burnplan: Run, studio: Studio, clock: FixedClock, jobs: tuple[str, str, str]
) -> None:
    owl, fox, _ = jobs
    code, _, err = burnplan("session", "begin")
    assert code == 2
    assert "Name the job" in err
    doing = sessions.Doing(work="burn", tip="shader 4 mm", heat="6")
    sessions.log(studio, owl, timedelta(hours=1), doing)
    clock.forward(hours=2)
    assert burnplan("session", "begin", "--work", "burn")[0] == 0
    taken = sessions.open_now(studio)
    assert taken is not None
    assert (taken.code, taken.tip, taken.heat) == (owl, "shader 4 mm", "6")
    sessions.stop(studio)
    planned_sessions.add(studio, fox, studio.now() + timedelta(minutes=30), timedelta(hours=1))
    assert burnplan("session", "begin", "--work", "burn", "--tip", "ball")[0] == 0
    taken = sessions.open_now(studio)
    assert taken is not None
    assert (taken.code, taken.tip, taken.heat) == (fox, "ball", "")


@pytest.mark.long
def test_what_a_zone_is_burned_with_is_known_from_last_time_or_a_ladder(
    burnplan: Run, studio: Studio, photo: Path
) -> None:
    code = commissions.add(studio, Wishes(title="Barn", size="20x15cm", species="basswood")).code
    references.add(studio, code, photo, zones=3)
    settings = [2.0, 3.0, 4.0, 5.0, 6.0]
    read = [78.0, 64, 51, 37, 26]
    ladders.add(
        studio, NewLadder(species="basswood", tip="shader", heat=settings, lightness=read, bare=84)
    )
    of_zone = {one.zone: one.setting for one in zone_settings.settings_for(studio, code).zones}
    sessions.log(studio, code, timedelta(hours=1), sessions.Doing(zone=1, tip="ball", heat="9"))
    for zone, tip, heat in ((1, "ball", "9"), (2, "shader", f"{of_zone[2]:.1f}")):
        assert burnplan("session", "begin", code, "--work", "burn", "--zone", str(zone))[0] == 0
        taken = sessions.open_now(studio)
        assert taken is not None
        assert (taken.zone, taken.tip, taken.heat) == (zone, tip, heat.removesuffix(".0"))
        sessions.stop(studio)


@pytest.mark.long
def test_what_is_taken_up_is_the_work_that_was_planned_or_done_last(
    burnplan: Run, studio: Studio, clock: FixedClock, jobs: tuple[str, str, str]
) -> None:
    owl, fox, wren = jobs
    # Planned for later is not planned for now; the first job in order of work is proposed.
    planned_sessions.add(studio, fox, studio.now() + timedelta(days=1), timedelta(hours=1), "burn")
    _, _, err = burnplan("session", "begin")
    assert "Nothing is planned for now" in err
    assert f"burnplan session begin {wren}" in err
    sessions.log(studio, owl, timedelta(hours=1), sessions.Doing(work="transfer"))
    for taken_up, work, why in (
        (owl, "transfer", "as last time"),
        (fox, "burn", "as planned"),
    ):
        code, out, err = burnplan("session", "begin")
        assert code == 0
        assert out.startswith(taken_up)
        assert f"Counted as {work}, {why}; --work says otherwise" in err
        sessions.stop(studio)
        clock.forward(hours=23, minutes=30)
    # Said, it is as said; named, a job goes on with its next open step.
    for said, counted in ((("--work", "finish"), "finish"), ((owl,), "prepare")):
        assert burnplan("session", "begin", *said)[0] == 0
        running = sessions.open_now(studio)
        assert running is not None
        assert running.work == counted
        sessions.stop(studio)


def test_a_clock_left_running_overnight_is_stopped_as_it_says(
    burnplan: Run, studio: Studio, clock: FixedClock, jobs: tuple[str, str, str]
) -> None:
    for nights, day in ((1, "yesterday"), (2, f"{studio.today() + timedelta(days=1)}")):
        assert burnplan("session", "begin", jobs[0], "--work", "prepare")[0] == 0
        clock.forward(hours=2)
        right = studio.local(studio.now()).strftime("%H:%M")
        clock.forward(hours=24 * nights - 1)
        err = burnplan("session", "end")[2]
        (command,) = re.findall("burnplan (session end .*)", err)
        assert command == f'session end --at "{day} HH:MM"'
        assert burnplan("undo")[0] == 0
        if nights == 1:
            late = studio.local(studio.now() + timedelta(hours=2)).strftime("%H:%M")
            assert "like 'yesterday 18:30'" in burnplan("session", "end", "--at", late)[2]
        assert burnplan(*shlex.split(command.replace("HH:MM", right)))[0] == 0
        assert sessions.all_of(studio, jobs[0])[0].hours == 2


def test_sessions_planned_on_days_taken_off_are_named(
    burnplan: Run, studio: Studio, jobs: tuple[str, str, str]
) -> None:
    first, last = (str(studio.today() + timedelta(days=days)) for days in (2, 4))
    for job, days in zip(jobs, (1, 4, 5), strict=True):
        planned_sessions.add(studio, job, studio.now() + timedelta(days=days), timedelta(hours=1))
    code, _, err = burnplan("days-off", "add", first, last)
    (command,) = re.findall("burnplan (session unplan .*)", err)
    assert (code, jobs[1] in err) == (0, True)
    assert burnplan(*command.split())[0] == 0
    left = planned_sessions.since(studio, studio.now())
    assert [one.code for one in left] == [jobs[0], jobs[2]]
    out = burnplan("days-off", "remove", "1")[1]
    assert re.fullmatch(r".+ to .+ are not off now\n", out)


def test_what_was_planned_and_is_done_is_not_counted_as_planned(
    burnplan: Run, studio: Studio, jobs: tuple[str, str, str]
) -> None:
    owl = jobs[0]
    planned_sessions.add(studio, owl, studio.now(), timedelta(hours=1), "prepare")
    assert today.taken_up(studio) == (owl, "prepare", None, "as planned")
    steps = checklists.of(studio, owl).steps
    checklists.tick(studio, owl, [step.key for step in steps if step.phase == "prepare"])
    _, _, err = burnplan("session", "begin")
    assert "Counted as transfer, by the next open step" in err


def test_what_was_set_aside_is_not_taken_up(
    burnplan: Run, studio: Studio, jobs: tuple[str, str, str]
) -> None:
    owl, fox, wren = jobs
    sessions.log(studio, fox, timedelta(hours=1), sessions.Doing(work="transfer"))
    sessions.log(studio, owl, timedelta(hours=1), sessions.Doing())
    planned_sessions.add(studio, owl, studio.now() + timedelta(minutes=5), timedelta(hours=1))
    assert today.taken_up(studio).code == owl
    commissions.pause(studio, owl, "the board has split")
    assert today.taken_up(studio)[:2] == (fox, "transfer")
    commissions.pause(studio, fox, "waits for the client")
    _, _, err = burnplan("session", "begin")
    assert "there is no job to go on with" in err
    assert f"burnplan session begin {wren}" in err
    # Named, it is begun, and why it was set aside is said.
    code, _, err = burnplan("session", "begin", owl)
    assert code == 0
    assert "It was set aside: the board has split" in err
    # Its planned session waited with it, and is named as it is at the time of another now.
    sessions.stop(studio)
    planned_sessions.add(studio, wren, studio.now() + timedelta(minutes=5), timedelta(hours=1))
    err = burnplan("commission", "resume", owl)[2]
    (command,) = re.findall("burnplan (session unplan .*)", err)
    assert burnplan(*command.split())[0] == 0
    assert [one.code for one in planned_sessions.since(studio, studio.now())] == [wren]


@pytest.mark.long
def test_a_zone_that_is_open_is_gone_on_with(
    burnplan: Run, studio: Studio, clock: FixedClock, jobs: tuple[str, str, str], photo: Path
) -> None:
    owl = jobs[0]
    references.add(studio, owl, photo, zones=3)
    sessions.log(studio, owl, timedelta(hours=1), sessions.Doing(work="burn", zone=2))
    assert today.taken_up(studio)[:3] == (owl, "burn", 2)
    checklists.tick(studio, owl, ["Z2"])
    assert today.taken_up(studio)[:3] == (owl, "burn", None)
    checklists.tick(studio, owl, ["Z1", "Z3"])
    assert today.taken_up(studio)[:3] == (owl, None, None)


def test_a_tick_answers_with_the_tick_and_the_next_step(
    burnplan: Run, studio: Studio, jobs: tuple[str, str, str]
) -> None:
    code = jobs[0]
    steps = checklists.of(studio, code).steps
    shown = burnplan("step", "tick", code, "1")[1]
    assert f"☑ {steps[0].text}" in shown
    assert f"next {steps[1].number} {steps[1].text}" in shown
    assert steps[5].text not in shown
    assert "☐" in burnplan("step", "untick", code, "1")[1]
    everything = f"1-{len(steps)}"
    assert "All steps are done" in burnplan("step", "tick", code, everything)[1]
