"""The checklist of the job shown: tick, skip, add."""

from typing import TYPE_CHECKING, Final

from burnplan.desk.jobs import checklists
from burnplan.desk.jobs.checklists import ChecklistView, StepView
from burnplan.reckon.checklist import Phase
from burnplan.workbench.actions.action import Action, on_job
from burnplan.workbench.forms import Answers, Field, Form, chosen_of

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench


def tick(bench: "Workbench") -> None:
    """Tick the step the cursor is on, or open it again; unfold or fold a finished phase."""
    page = bench.job_page
    step, code = page.step, page.code
    if step is None:
        page.turn_phase()
        return
    change = checklists.tick if step.state == "open" else checklists.untick

    def then(view: ChecklistView) -> None:
        _go_on(bench, code, step, view)
        if view.reminder:
            bench.say(view.reminder, mind=True)
        if step.key == "hand-over" and step.state == "open":
            bench.say("Press d to put the hand-over on record: that closes the job")

    bench.do(lambda: change(bench.studio, code, [step.key]), then)


def _go_on(bench: "Workbench", code: str, step: StepView, view: ChecklistView) -> None:
    """Show the checklist; from a step that was open the cursor goes to the next that is."""
    page = bench.job_page
    if page.code == code:
        page.give_steps(view.steps)
        if step.state == "open" and page.listing.key == step.key:
            page.go_on_from(step)


def mind(bench: "Workbench") -> None:
    """Say all that is to be minded at the step the cursor is on."""
    step = bench.job_page.step
    if step is not None and step.caution:
        bench.say(step.caution, mind=True)


def skip(bench: "Workbench") -> None:
    """Skip the step the cursor is on, with the reason."""
    step, code = bench.job_page.step, bench.job_page.code
    if step is None:
        return

    def send(answers: Answers) -> ChecklistView:
        return checklists.skip(bench.studio, code, step.key, answers["reason"])

    def then(view: ChecklistView) -> None:
        _go_on(bench, code, step, view)

    reason = Field("reason", "Reason", "why it is not needed")
    bench.ask(Form(f"Skip for {code}: {step.text}", [reason], send, send="Skip it"), then)


def add_step(bench: "Workbench") -> None:
    """Add a step of the artist's own."""
    step, code = bench.job_page.step, bench.job_page.code
    phases = tuple(phase.value for phase in Phase)
    fields = [
        Field("text", "Step", "what is to be done"),
        Field("phase", "Phase", ", ".join(phases), step.phase.value if step else "", phases),
    ]

    def send(answers: Answers) -> ChecklistView:
        phase = chosen_of(phases, answers["phase"], "phase")
        return checklists.add(bench.studio, code, answers["text"], phase)

    bench.ask(Form(f"A step for {code}", fields, send, send="Add it"))


HELPS: Final = {
    "choose": "hold", "try-tones": "new_ladder", "print": "sheets", "compare": "compare_photo",
    "coat-1": "coats", "photograph": "progress_photo", "balance": "payment",
    "hand-over": "deliver",
}  # fmt: skip
"""Steps by their keys, and the actions of the workbench that help with them."""

ACTIONS = (
    Action("tick", "Tick step", "Tick the step the cursor is on, or open it again; unfold a phase",
           tick, on_job, key="space", short="Tick", page="job"),
    Action("skip", "Skip step", "Skip the step the cursor is on, with the reason", skip, on_job,
           key="x", short="Skip", page="job"),
    Action("mind", "What to mind", "The caution of the step the cursor is on, in full", mind,
           on_job, key="m", page="job"),
    Action("add_step", "Add a step", "One of your own, at the end of a phase", add_step, on_job),
)  # fmt: skip
