"""burnplan step: the checklist of a commission."""

from collections.abc import Callable
from functools import partial
from typing import Annotated, Literal

import typer

from burnplan.cli import naming
from burnplan.cli.answers import Answer, answers
from burnplan.cli.common import the_studio
from burnplan.cli.options import Because, WhichCommission, group
from burnplan.desk.jobs import checklists
from burnplan.desk.studio import lookup
from burnplan.show import console
from burnplan.show.jobs import checklists as shown

app = group()

Steps = Annotated[
    list[str],
    typer.Argument(metavar="STEP...", help="Numbers (3, 4-7), zones (Z3) or words of their text."),
]
OneStep = Annotated[
    str, typer.Argument(metavar="STEP", help="Its number, zone (Z3) or words of its text.")
]


def _show(before: "checklists.ChecklistView", view: "checklists.ChecklistView") -> None:
    """Show the steps that have changed, and the next one; the list has them all."""
    console.show(shown.changed(before, view))
    if view.reminder:
        console.caution(view.reminder)


def _to_steps(
    context: typer.Context,
    which: str,
    do: Callable[[list[str]], "checklists.ChecklistView"],
    steps: list[str],
) -> None:
    """Do something to steps, once it is settled which are meant by part of their text."""
    before = checklists.of(the_studio(context), which)
    while True:
        try:
            return _show(before, do(steps))
        except lookup.OnlyPart as part:
            whole = naming.meant(context, part)
            steps = [whole if text == part.text else text for text in steps]


@app.command("list")
@answers
def list_(context: typer.Context, which: WhichCommission) -> "Answer[checklists.ChecklistView]":
    """Show a commission's checklist, with what to mind.

    Examples:
      burnplan step list C-0007
    """
    return Answer(checklists.of(the_studio(context), which), shown.checklist)


@app.command()
def tick(context: typer.Context, which: WhichCommission, steps: Steps) -> None:
    """Tick steps off.

    Examples:
      burnplan step tick C-0007 3 5-8
      burnplan step tick barn Z1
    """
    _to_steps(context, which, partial(checklists.tick, the_studio(context), which), steps)


@app.command()
def untick(context: typer.Context, which: WhichCommission, steps: Steps) -> None:
    """Open steps again that were ticked or skipped.

    Examples:
      burnplan step untick C-0007 4
    """
    _to_steps(context, which, partial(checklists.untick, the_studio(context), which), steps)


@app.command()
def skip(context: typer.Context, which: WhichCommission, step: OneStep, because: Because) -> None:
    """Skip a step, with the reason.

    Examples:
      burnplan step skip C-0007 5 --because "bought ready sanded"
    """
    studio = the_studio(context)
    _to_steps(
        context, which, lambda texts: checklists.skip(studio, which, texts[0], because), [step]
    )


@app.command()
def add(
    context: typer.Context,
    which: WhichCommission,
    text: Annotated[str, typer.Argument(help="What to do.")],
    phase: Annotated[
        Literal["prepare", "transfer", "burn", "finish", "handover"],
        typer.Option(help="The part of the checklist it belongs to."),
    ] = "prepare",
) -> None:
    """Add a step of your own.

    Examples:
      burnplan step add C-0007 "Drill the hanging holes" --phase finish
    """
    studio = the_studio(context)
    before = checklists.of(studio, which)
    _show(before, checklists.add(studio, which, text, phase))
