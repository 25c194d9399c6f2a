"""The burning page's few keys: a hand that holds a pen must not go wrong."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from burnplan.desk.jobs import sessions
from burnplan.desk.jobs.sessions import SessionView
from burnplan.units import format_hours
from burnplan.wood.cautions import Moment
from burnplan.workbench.actions.action import Action, clock_open
from burnplan.workbench.actions.time import clock
from burnplan.workbench.forms import Answers, Field, Form
from burnplan.zone_names import zone_name

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench


def burn_next(bench: "Workbench") -> None:
    """Start the clock for the step that the page shows."""
    page = bench.burning_page
    if page.step is not None:
        clock.start_for(bench, page.code, [page.step])


def zone_done(bench: "Workbench") -> None:
    """Tick the zone and stop the clock, when pressed twice."""
    if not bench.burning_page.arm():
        return

    def run() -> clock.Minded:
        return clock.minded(bench.studio, sessions.stop(bench.studio, done=True), Moment.STOP)

    def then(done: clock.Minded) -> None:
        view, said, short = done
        bench.mind(said, short)
        bench.say(f"{zone_name(view.zone or 0)} done; {format_hours(view.hours)} on record")

    bench.do(run, then)


def note(bench: "Workbench") -> None:
    """Add a note to the session."""

    def send(answers: Answers) -> SessionView:
        return sessions.add_note(bench.studio, answers["note"])

    field = Field("note", "Note", "what to remember of this")
    heading = f"A note for this session{clock.on_clock(bench)}"
    bench.ask(Form(heading, [field], send, send="Keep it"))


def _here(test: Callable[["Workbench"], bool]) -> Callable[["Workbench"], bool]:
    return lambda bench: bench.page_name == "burning" and test(bench)


def _on_zone(bench: "Workbench") -> bool:
    clock_ = bench.now.clock if bench.now else None
    return clock_ is not None and clock_.zone is not None


def _stands(bench: "Workbench") -> bool:
    return not clock_open(bench) and bench.burning_page.step is not None


def _to_page(bench: "Workbench") -> None:
    if bench.now is not None and bench.now.clock is not None:
        bench.open_burning(bench.now.clock.code)


ACTIONS = (
    Action("pause_burning", "Take a break", "It runs on with the same key", clock.pause,
           _here(clock.clock_is("running")), key="space", short="Break", page="burning"),
    Action("burn_on", "Let the clock run on", "The paused session goes on", clock.go_on,
           _here(clock.clock_is("paused")), key="space", short="Go on", page="burning"),
    Action("burn_next", "Begin what comes next", "As this page shows it", burn_next,
           _here(_stands), key="space", short="Begin", page="burning",
           why="Nothing of this job is open"),
    Action("zone_done", "This zone is done", "Tick it and end the session: press twice", zone_done,
           _here(_on_zone), key="enter", short="Zone done (twice)", page="burning",
           why="No clock runs for a zone"),
    Action("session_note", "A note for this session", "It stays with its hours", note,
           _here(clock_open), key="n", short="Note", page="burning", why="No clock is running"),
    Action("to_burning", "To what is being burned", "The zone and the clock, large", _to_page,
           clock_open, key="b", short="Burning", why="No clock is running"),
)  # fmt: skip
