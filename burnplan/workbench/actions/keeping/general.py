"""Undo, more facts, the light, leaving."""

from typing import TYPE_CHECKING

from burnplan.desk.keeping import undo as desk
from burnplan.workbench.actions.action import Action, on_job
from burnplan.workbench.words import in_words

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench


def undo(bench: "Workbench") -> None:
    """Take back the last thing that was done by who sits here."""
    bench.do(lambda: desk.undo_last(bench.studio), lambda past: _say(bench, "Undid", past))


def redo(bench: "Workbench") -> None:
    """Do again what was undone last."""
    bench.do(lambda: desk.redo_last(bench.studio), lambda past: _say(bench, "Did again", past))


def _say(bench: "Workbench", what: str, past: desk.Happening) -> None:
    """Say what was taken back, and what else was last, where somebody else did that."""
    beside = [in_words(said) for said in bench.studio.notices]
    bench.studio.notices.clear()
    bench.say(". ".join([f"{what}: {past.summary}", *beside]))


ACTIONS = (
    Action("undo", "Undo", "Take back the last thing you did", undo, key="u", short="Undo"),
    Action("redo", "Redo", "Do again what you undid last", redo, key="U"),
    Action("facts", "More facts", "Turn what is beside the checklist: money, sessions",
           lambda bench: bench.job_page.turn_facts(), on_job, key="f", short="More", page="job"),
    Action("light", "Light or dark", "Change between lamplight and daylight",
           lambda bench: bench.turn_light(), key="l"),
    Action("leave", "Quit", "Leave the workbench; a running clock runs on",
           lambda bench: bench.exit(), key="ctrl+q"),
)  # fmt: skip
