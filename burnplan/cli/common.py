"""What the commands share: their studio, JSON output, questions, progress."""

import os
import sys
import textwrap
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from burnplan.cli import completion
from burnplan.errors import BadInput
from burnplan.terminal_safe import harmless_json, terminal_safe

if TYPE_CHECKING:
    from rich.console import RenderableType

    from burnplan.desk.derived.studio_settings import Settings
    from burnplan.desk.studio.paging import ListPage
    from burnplan.desk.studio.studio import Studio

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of a table.")]
AsSchema = Annotated[
    bool, typer.Option("--json-schema", help="Print the JSON Schema of --json, and stop.")
]
Yes = Annotated[bool, typer.Option("--yes", "-y", help="Do not ask whether it is meant.")]
Into = Annotated[Path, typer.Option(help="The folder to write into; made if it is not there.")]
AsText = Annotated[
    bool, typer.Option("--text", help="Print it here as plain text instead, for a mail.")
]
WhichCommission = Annotated[
    str,
    typer.Argument(
        metavar="COMMISSION",
        help="Its code (C-0007, 7) or part of its title.",
        autocompletion=completion.commissions,
    ),
]


Rows = Annotated[int, typer.Option("--rows", help="How many on a page.", min=1, max=100_000)]
PageNumber = Annotated[int, typer.Option("--page", help="Which page.", min=1, max=1_000_000)]


def group() -> typer.Typer:
    """Return an empty group of commands that shows its help when called bare."""
    return typer.Typer(no_args_is_help=True, rich_markup_mode="rich")


def the_studio(context: typer.Context) -> "Studio":
    """Return the studio this program was started for."""
    root = context.find_root()
    if root.obj is None:
        from burnplan.desk.studio.studio import open_studio

        root.obj = open_studio()
        root.call_on_close(partial(_leave, root.obj))
    studio: Studio = root.obj
    return studio


def _leave(studio: "Studio") -> None:
    """Say what came up beside the work, and close the book: then it is one file again."""
    for said in studio.notices:
        from burnplan.show.console import notice

        notice(said)
    studio.close()


def the_settings(context: typer.Context) -> "Settings":
    """Return the studio's settings; asks for them on first use in a terminal."""
    from burnplan.desk.studio import settings
    from burnplan.show.console import interactive

    studio = the_studio(context)
    if interactive() and not (studio.has_book and settings.are_set(studio)):
        from burnplan.cli.studio.settings import ask_all

        return settings.save(studio, ask_all(settings.current(studio)))
    return settings.current(studio)


def print_json(data: Any, kind: Any) -> None:
    """Print data of a type as JSON."""
    from pydantic import TypeAdapter

    sys.stdout.write(harmless_json(TypeAdapter(kind).dump_json(data, indent=2).decode()) + "\n")


def print_schema(kind: Any) -> None:
    """Print the JSON Schema of a type."""
    import json

    from pydantic import TypeAdapter

    schema = TypeAdapter(kind).json_schema(mode="serialization")
    sys.stdout.write(json.dumps(schema, indent=2) + "\n")


def answer(
    kind: Any,
    as_json: bool,
    as_schema: bool,
    find: Callable[[], Any],
    draw: Callable[[Any], "RenderableType"],
) -> None:
    """Print what a command that only looks has to say: its schema, its JSON, or drawn.

    Parameters
    ----------
    kind : type
        Of what ``find`` returns.
    as_json, as_schema : bool
    find : callable
        Not called for the schema: that needs no book.
    draw : callable
        Makes what is shown of what was found.
    """
    if as_schema:
        return print_schema(kind)
    found = find()
    if as_json:
        return print_json(found, kind)
    from burnplan.show.console import show

    return show(draw(found))


def answer_page(
    kind: Any,
    as_json: bool,
    as_schema: bool,
    which: tuple[int, int],
    find: Callable[["ListPage"], Any],
    draw: Callable[[Any], "RenderableType"],
) -> None:
    """Answer with one page of a list, and say how to see the next if there may be one.

    ``which`` is the page's number and how many rows it has; the others are as
    for :func:`answer`, of one row.
    """
    from burnplan.desk.studio.paging import ListPage

    page = ListPage(*which)

    def shown(found: Any) -> "RenderableType":
        from burnplan.show.console import notice

        if len(found) == page.rows:
            notice(
                f"Page {page.number}, {page.rows} rows; more may follow: --page {page.number + 1}"
            )
        return draw(found)

    return answer(list[kind], as_json, as_schema, lambda: find(page), shown)


def own_locale(context: typer.Context, text: str) -> str:
    """Return the locale that a date is read in, looked up only where the date may need it."""
    from burnplan.desk.studio import settings

    return settings.current(the_studio(context)).locale if "/" in text or "-" in text else ""


def given_date(context: typer.Context, text: str | None) -> date | None:
    """Return the date that an option names, if it was given."""
    from burnplan.dates import parse_date

    if text is None:
        return None
    return parse_date(text, the_studio(context).today(), own_locale(context, text))


def given_moment(context: typer.Context, text: str | None) -> datetime | None:
    """Return the moment that an option names, if it was given, in UTC."""
    from burnplan.dates import parse_moment

    if text is None:
        return None
    studio = the_studio(context)
    now = studio.local(studio.now())
    return studio.moment(parse_moment(text, now, own_locale(context, text)))


def ask(
    question: str, check: Callable[[str], Any] = str, *, default: str | None = "", hint: str = ""
) -> Any:
    """Ask one question until the answer passes its check.

    Parameters
    ----------
    question : str
    check : callable
        Makes the value of the answer; a BadInput it raises is shown and the
        question asked again.
    default : str or None
        The answer to Enter; empty for 'skip', None if an answer is needed.
    hint : str
        Shown beside the question.

    Returns
    -------
    Any
        What the check made; None if skipped.
    """
    while True:
        label = f"{question} ({hint})" if hint else question
        answer = typer.prompt(label, default=default, show_default=bool(default), err=True)
        if not answer.strip():
            return None
        try:
            return check(answer)
        except BadInput as error:
            say_plainly(str(error))


def ask_about(context: typer.Context, *species: str | None) -> None:
    """Say beside the output which woods may be misspelt; they are taken as they are."""
    from burnplan.desk.wood import own_species
    from burnplan.show.console import notice

    for text in species:
        if text is not None and (words := own_species.doubt(the_studio(context), text)):
            notice(words)


def say_plainly(message: str) -> None:
    """Write a message to standard error: one line, or for a reader, broken between words."""
    line = terminal_safe(" ".join(message.split()))
    if sys.stderr.isatty():
        try:
            width = os.get_terminal_size(sys.stderr.fileno()).columns or 80  # 0: not known
        except OSError:
            width = 80
        line = textwrap.fill(
            line,
            max(width, 20),
            subsequent_indent="  ",
            break_long_words=False,
            break_on_hyphens=False,
        )
    sys.stderr.write(f"{line}\n")


def sure(question: str, yes: bool) -> None:
    """Ask before something that cannot be taken back lightly.

    Raises
    ------
    BadInput
        If nobody is there to answer.
    """
    from burnplan.show.console import interactive

    if yes:
        return
    if not interactive():
        raise BadInput("This needs to be confirmed", "Add --yes to do it without asking")
    if not typer.confirm(question, default=False, err=True):
        raise typer.Exit(1)


@contextmanager
def progress_bar() -> Iterator[Callable[[float, str], None]]:
    """Show a bar on standard error while long work runs, if a person is watching."""
    from rich.progress import BarColumn, Progress, TextColumn

    from burnplan.show.console import error_console

    console = error_console()
    bar = Progress(
        TextColumn("{task.description}", style="soft"),
        BarColumn(bar_width=24, complete_style="ember", finished_style="ember"),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    )
    with bar:
        task = bar.add_task("", total=1.0)
        yield lambda share, label: bar.update(task, completed=share, description=label)
