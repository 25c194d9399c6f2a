"""Commands that write files: over another file only if told to, or if a person agrees."""

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, signature
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from burnplan.cli.asking import sure
from burnplan.cli.common import no_bar, the_studio
from burnplan.cli.options import taking
from burnplan.files import replacing
from burnplan.show import console

if TYPE_CHECKING:
    from burnplan.sheets.writing import Written

Result = TypeVar("Result")
Replace = Annotated[
    bool, typer.Option("--replace", help="Write over a file that is there, whatever is in it.")
]


def say_notes(*written: "Written") -> None:
    """Say once each what may disappoint of sheets that were written: letters no font has."""
    for note in dict.fromkeys(note for one in written for note in one.notes):
        console.notice(note)


def writes_files(command: Callable[..., Result]) -> Callable[..., Result]:
    """Let a command write files, by the one rule of what they may replace."""

    @wraps(command)
    def run(*, context: typer.Context, replace: bool = False, **given: object) -> Result:
        def may_go(path: Path) -> bool:
            if replace or not console.interactive():
                return replace
            with no_bar():
                sure(f"'{path}' is there already. Replace it?", yes=False)
            return True

        with replacing(may_go, the_studio(context).keeps):
            return command(context=context, **given)

    own = signature(command).parameters.values()
    option = Parameter("replace", Parameter.KEYWORD_ONLY, default=False, annotation=Replace)
    return taking(run, [*own, option])
