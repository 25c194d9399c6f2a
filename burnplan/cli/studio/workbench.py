"""burnplan workbench: the whole studio in one full-screen terminal."""

from typing import Annotated

import typer

from burnplan.cli.common import the_settings, the_studio
from burnplan.errors import OperationFailed
from burnplan.show import console
from burnplan.workbench import app, terminal, threads


def command(
    context: typer.Context,
    light: Annotated[bool, typer.Option("--light", help="Begin in daylight colours.")] = False,
) -> None:
    """Open the workbench: the clock, the jobs, their checklists and the wood, full screen.

    A clock that runs goes on running when you leave it.

    Examples:
      burnplan workbench
      burnplan workbench --light
    """
    if not console.interactive():
        raise OperationFailed("The workbench needs a terminal", "See the open jobs: burnplan jobs")
    the_settings(context)  # asks on first use, before the screen is taken over
    bench = app.Workbench(the_studio(context), light=light)
    bench.terminal = terminal.at_hand()
    threads.keys_first()
    bench.run()
    if bench.ended_by is not None:
        raise bench.ended_by
    raise typer.Exit(bench.return_code or 0)
