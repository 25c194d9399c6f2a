"""Undo, more facts, the light, leaving."""

from typing import TYPE_CHECKING

from burnplan.desk.keeping import undo as desk
from burnplan.workbench.actions.action import Action, on_job

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench


def undo(bench: "Workbench") -> None:
    """Take back the last thing done."""
    bench.do(lambda: desk.undo_last(bench.studio), lambda past: bench.say(f"Undid: {past.summary}"))


ACTIONS = (
    Action("undo", "Undo", "Take back the last thing done", undo, key="u", short="Undo"),
    Action("facts", "More facts", "Turn what is beside the checklist: money, sessions",
           lambda bench: bench.job_page.turn_facts(), on_job, key="f", short="More", page="job"),
    Action("light", "Light or dark", "Change between lamplight and daylight",
           lambda bench: bench.turn_light(), key="l"),
    Action("leave", "Quit", "Leave the workbench; a running clock runs on",
           lambda bench: bench.exit(), key="ctrl+q"),
)  # fmt: skip
