"""Checklists on the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from burnplan.desk.jobs.checklists import ChecklistView
from burnplan.reckon.checklist import Phase
from burnplan.show.console import table

PHASE_NAMES = {
    Phase.PREPARE: "Prepare the wood",
    Phase.TRANSFER: "Transfer the picture",
    Phase.BURN: "Burn",
    Phase.FINISH: "Finish",
    Phase.HANDOVER: "Hand over",
}
_BOXES = {"open": ("☐", ""), "ticked": ("☑", "good"), "skipped": ("☒", "soft")}


def changed(before: ChecklistView, view: ChecklistView) -> RenderableType:
    """Return the steps whose state has changed, and the next one to do, with what to mind."""
    states = {step.key: step.state for step in before.steps}
    lines = []
    for step in view.steps:
        if states.get(step.key) != step.state:
            box, style = _BOXES[step.state]
            lines.append(
                Text.assemble((f"{step.number:>2} ", "soft"), (box, style), f" {step.text}")
            )
    following = next((step for step in view.steps if step.state == "open"), None)
    if following is None:
        return Group(*lines, Text("All steps are done", "soft"))
    lines.append(Text.assemble(("next ", "soft"), f"{following.number} {following.text}"))
    if following.caution:
        lines.append(Text(following.caution, "soft italic"))
    return Group(*lines)


def checklist(view: ChecklistView, *, cautions: bool = True) -> RenderableType:
    """Return a checklist, numbered, by phase."""
    parts: list[RenderableType] = [Text.assemble((view.code, "code"), "  ", (view.title, "title"))]
    for phase in Phase:
        steps = [step for step in view.steps if step.phase is phase]
        if not steps:
            continue
        settled = sum(step.state != "open" for step in steps)
        parts.append(
            Text.assemble("\n", (PHASE_NAMES[phase], "ember"), f"  {settled}/{len(steps)}")
        )
        rows = table("", "", "+")
        for step in steps:
            box, style = _BOXES[step.state]
            words = Text(step.text, "soft" if step.state != "open" else "")
            if step.skip_reason:
                words.append(f"  skipped: {step.skip_reason}", "soft")
            if step.caution and cautions and step.state == "open":
                words.append(f"\n{step.caution}", "italic")
            rows.add_row(Text(f"{step.number:>2}", "soft"), Text(box, style), words)
        parts.append(rows)
    return Group(*parts)
