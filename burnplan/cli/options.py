"""Options that several commands take alike."""

from collections.abc import Callable, Iterable
from functools import wraps
from inspect import Parameter, Signature, signature
from pathlib import Path
from typing import Annotated, Any, TypeVar

import typer

from burnplan.cli import completion
from burnplan.cli.help import HelpedGroup
from burnplan.cli.naming import which_wood, whole_commission
from burnplan.desk.studio import paging
from burnplan.sheets.writing import check_ending

Result = TypeVar("Result")


def ending(wanted: str) -> Callable[[Path | None], Path | None]:
    """Return a check of the name of a file to write: it says what will be in it."""

    def check(path: Path | None) -> Path | None:
        if path is not None:
            check_ending(path, wanted)
        return path

    return check


def one_commission(meaning: str) -> Any:
    """Return the argument of a command that may be meant for one commission."""
    return typer.Argument(
        metavar="[COMMISSION]",
        help=meaning,
        autocompletion=completion.commissions,
        callback=whole_commission,
    )


WhichCommission = Annotated[
    str,
    typer.Argument(
        metavar="COMMISSION",
        help="Its code (C-0007, 7), its title, or words that its title has.",
        autocompletion=completion.commissions,
        callback=whole_commission,
    ),
]
OneCommission = Annotated[str | None, one_commission("Of one commission only.")]
WhichBlank = Annotated[
    str,
    typer.Argument(
        metavar="BLANK", help="Its code (B-0012, 12).", autocompletion=completion.blanks
    ),
]
Size = Annotated[str | None, typer.Option(help="Like 30x40cm, 'round 25cm', 'oval 20x30cm'.")]
Species = Annotated[
    str | None,
    typer.Option(
        help="Like basswood, cherry, sugar-maple.",
        autocompletion=completion.species,
        callback=which_wood,
    ),
]
Dark = Annotated[
    int | None, typer.Option(help="Value depth by eye, 1 pale to 5 dark.", min=1, max=5)
]
Detail = Annotated[
    int | None,
    typer.Option(help="Detail by eye, 1 plain to 5 dense fur; 6 a showpiece.", min=1, max=6),
]
Covered = Annotated[
    str | None,
    typer.Option(help="How much of the face is burned, by eye, like 60%; all of it if not said."),
]
Because = Annotated[str, typer.Option("--because", help="Why.", prompt="Why")]
Note = Annotated[str, typer.Option(help="Anything worth remembering.")]
NewNote = Annotated[str | None, typer.Option(help="Anything worth remembering.")]
On = Annotated[str | None, typer.Option(help="The day, if not today.")]
Yes = Annotated[bool, typer.Option("--yes", "-y", help="Do not ask whether it is meant.")]
Override = Annotated[
    str | None,
    typer.Option("--override", metavar="REASON", help="Why what blocks the blank is set aside."),
]
Reopen = Annotated[
    bool | None,
    typer.Option(
        "--reopen/--keep-steps",
        help="Open done steps that this undoes, or keep them.",
        show_default=False,
    ),
]
Into = Annotated[Path, typer.Option(help="The folder to write into; made if it is not there.")]
PdfFile = Annotated[
    Path,
    typer.Argument(
        metavar="FILE.pdf", help="The PDF to write; its name ends in .pdf.", callback=ending(".pdf")
    ),
]
AsText = Annotated[
    bool, typer.Option("--text", help="Print it here as plain text instead, for a mail.")
]
Rows = Annotated[int, typer.Option("--rows", help="How many on a page.", min=1, max=100_000)]
PageNumber = Annotated[int, typer.Option("--page", help="Which page.", min=1, max=1_000_000)]


def group() -> typer.Typer:
    """Return an empty group of commands that shows its help when called bare."""
    return typer.Typer(cls=HelpedGroup, no_args_is_help=True)


def taking(run: Callable[..., Result], parameters: Iterable[Parameter]) -> Callable[..., Result]:
    """Show a function to typer as taking these parameters, by name."""
    shown = [parameter.replace(kind=Parameter.KEYWORD_ONLY) for parameter in parameters]
    run.__signature__ = Signature(shown)  # type: ignore[attr-defined]
    run.__annotations__ = {parameter.name: parameter.annotation for parameter in shown}
    return run


def gathered_by(
    gather: Callable[..., Any],
) -> Callable[[Callable[..., Result]], Callable[..., Result]]:
    """Give a command the options of a function, and what it makes of them by its name.

    Typer makes an option of each parameter of a command. Here it is shown the function's
    parameters in the place of the command's parameter of that name. What both have, such
    as the context, both are given.

    Examples
    --------
    >>> def size(width: int = 3, height: int = 2) -> str:
    ...     return f"{width} × {height}"
    >>> @gathered_by(size)
    ... def saw(wood: str, *, size: str, quietly: bool = False) -> None:
    ...     print(f"Saw {wood} to {size}")
    >>> list(signature(saw).parameters)
    ['wood', 'width', 'height', 'quietly']
    >>> saw(wood="cherry", width=5, height=4)
    Saw cherry to 5 × 4
    """
    options = signature(gather).parameters

    def decorate(command: Callable[..., Result]) -> Callable[..., Result]:
        own = signature(command).parameters

        @wraps(command)
        def run(**given: Any) -> Result:
            gathered = gather(**{name: given[name] for name in options if name in given})
            rest = {name: value for name, value in given.items() if name in own}
            return command(**rest, **{gather.__name__: gathered})

        shown: dict[str, Parameter] = {}
        for name, parameter in own.items():
            shown |= options if name == gather.__name__ else {name: parameter}
        return taking(run, shown.values())

    return decorate


def page(rows: Rows = 50, number: PageNumber = 1) -> "paging.ListPage":
    """Return which page of a list is wanted, of the options that lists take."""
    return paging.ListPage(number, rows)
