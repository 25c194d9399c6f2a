"""What the commands share: their studio and its settings, dates as typed, progress."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from functools import partial
from typing import TYPE_CHECKING

import typer

from burnplan.cli.asking import ask_settings
from burnplan.desk.derived import studio_settings
from burnplan.desk.studio import settings, typed_dates
from burnplan.desk.studio import studio as desk
from burnplan.desk.wood import hazards, own_species
from burnplan.errors import BadInput
from burnplan.show import commands, console
from burnplan.view import View

if TYPE_CHECKING:
    from rich.progress import Progress


def the_studio(context: typer.Context) -> "desk.Studio":
    """Return the studio this program was started for."""
    root = context.find_root()
    if root.obj is None:
        root.obj = desk.open_studio()
        root.call_on_close(partial(_leave, root.obj))
    studio: desk.Studio = root.obj
    return studio


def _leave(studio: "desk.Studio") -> None:
    """Say what came up beside the work, and close the book: then it is one file again."""
    for said in studio.notices:
        console.notice(commands.in_words(said))
    studio.close()


def the_settings(context: typer.Context) -> "studio_settings.Settings":
    """Return the studio's settings; asks for them on first use in a terminal."""
    studio = the_studio(context)
    if console.interactive() and not (studio.has_book and settings.are_set(studio)):
        seen = settings.current(studio)
        return settings.save(studio, ask_settings(seen), seen)
    return settings.current(studio)


def refuse_idle(context: typer.Context, where: str, *names: str) -> None:
    """Refuse options that were typed where they say nothing, rather than leave them unheard."""
    for option in context.command.params:
        source = context.get_parameter_source(option.name or "")
        if option.name in names and source is not None and source.name == "COMMANDLINE":
            raise BadInput(f"{option.opts[0]} says nothing {where}", "Leave it out")


def given_date(context: typer.Context, text: str | None, *, past: bool = False) -> date | None:
    """Return the date that an option names, if it was given; ``past`` of what was."""
    return None if text is None else typed_dates.day(the_studio(context), text, past=past)


def given_moment(context: typer.Context, text: str | None) -> datetime | None:
    """Return the moment of what was that an option names, if it was given, in UTC."""
    return None if text is None else typed_dates.moment(the_studio(context), text, past=True)


def refuse_no_change(change: View, example: str) -> None:
    """Refuse, by a BadInput, a change of which nothing is given."""
    if not change.given():
        raise BadInput("Nothing is said that changes", f"Give for example {example}")


def ask_about(context: typer.Context, *species: str | None) -> None:
    """Say beside the output which woods may be misspelt, and which must not be burned.

    A person was asked about what may be misspelt as it was typed.
    """
    for text in species:
        if text is not None:
            words = own_species.doubt(the_studio(context), text)
            if words and not console.interactive():
                console.notice(words)
            for words in hazards.said_of_wood(the_studio(context), text):
                console.caution(words)


def mind_wood(context: typer.Context, which: str) -> None:
    """Say first what of a job's wood must not be burned, or is to be asked about."""
    if words := own_species.doubt_of_job(the_studio(context), which):
        console.notice(words)
    for words in hazards.said_first(the_studio(context), which):
        console.caution(words)


@contextmanager
def progress_bar() -> Iterator[Callable[[float, str], None]]:
    """Show a bar on standard error while long work runs, if a person is watching."""
    from rich.progress import BarColumn, Progress, TextColumn

    on = console.error_console()
    bar = Progress(
        TextColumn("{task.description}", style="soft"),
        BarColumn(bar_width=24, complete_style="ember", finished_style="ember"),
        console=on,
        transient=True,
        disable=not on.is_terminal,
    )
    with bar:
        task = bar.add_task("", total=1.0)
        _bars.append(bar)
        try:
            yield lambda share, label: bar.update(task, completed=share, description=label)
        finally:
            _bars.remove(bar)


# Those shown now.
_bars: "list[Progress]" = []


@contextmanager
def no_bar() -> Iterator[None]:
    """Clear the line while a question is asked."""
    for bar in _bars:
        bar.stop()
    yield
    for bar in _bars:
        bar.start()
