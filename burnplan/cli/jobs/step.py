"""burnplan step: the checklist of a commission."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from burnplan.cli.common import (
    AsJson,
    AsSchema,
    WhichCommission,
    answer,
    group,
    the_studio,
)

if TYPE_CHECKING:
    from burnplan.desk.jobs.checklists import ChecklistView

app = group()

Steps = Annotated[
    list[str],
    typer.Argument(metavar="STEP...", help="Numbers (3, 4-7), zones (Z3) or parts of their text."),
]
OneStep = Annotated[
    str, typer.Argument(metavar="STEP", help="Its number, zone (Z3) or part of its text.")
]


def _show(view: "ChecklistView") -> None:
    from burnplan.show.console import notice, show
    from burnplan.show.jobs.work import checklist

    show(checklist(view, cautions=False))
    if view.reminder:
        notice(view.reminder)


@app.command("list")
def list_(
    context: typer.Context,
    which: WhichCommission,
    as_json: AsJson = False,
    as_schema: AsSchema = False,
) -> None:
    """Show a commission's checklist, with what to mind.

    Examples:

      burnplan step list C-0007
    """
    from burnplan.desk.jobs import checklists
    from burnplan.show.jobs.work import checklist

    return answer(
        checklists.ChecklistView,
        as_json,
        as_schema,
        lambda: checklists.of(the_studio(context), which),
        checklist,
    )


@app.command()
def tick(context: typer.Context, which: WhichCommission, steps: Steps) -> None:
    """Tick steps off.

    Examples:

      burnplan step tick C-0007 3 5-8

      burnplan step tick barn Z1
    """
    from burnplan.desk.jobs import checklists

    _show(checklists.tick(the_studio(context), which, steps))


@app.command()
def untick(context: typer.Context, which: WhichCommission, steps: Steps) -> None:
    """Open steps again that were ticked or skipped.

    Examples:

      burnplan step untick C-0007 4
    """
    from burnplan.desk.jobs import checklists

    _show(checklists.untick(the_studio(context), which, steps))


@app.command()
def skip(
    context: typer.Context,
    which: WhichCommission,
    step: OneStep,
    because: Annotated[str, typer.Option("--because", help="Why.", prompt="Why")],
) -> None:
    """Skip a step, with the reason.

    Examples:

      burnplan step skip C-0007 5 --because "bought ready sanded"
    """
    from burnplan.desk.jobs import checklists

    _show(checklists.skip(the_studio(context), which, step, because))


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
    from burnplan.desk.jobs import checklists

    _show(checklists.add(the_studio(context), which, text, phase))
