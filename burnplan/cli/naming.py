"""Records named by part of what they are called: the whole is said, and asked about.

What only looks says beside its answer whom it took the part for. What changes or
writes something asks first. A script, which nobody watches, gives whole names or codes.
"""

from collections.abc import Callable
from typing import Any

import typer

from burnplan.cli.common import the_studio
from burnplan.desk.studio import lookup
from burnplan.errors import NotFound
from burnplan.show import console


def meant(context: typer.Context, part: "lookup.OnlyPart") -> str:
    """Return what to give for part of a name, if somebody is there who means it.

    Raises
    ------
    OnlyPart
        If nobody is there to see or to answer.
    """
    looking = any(parameter.name == "as_json" for parameter in context.command.params)
    watched = console.error_console().is_terminal
    if looking and watched:
        console.notice(f"'{part.text}' is taken for {part.called}")
    elif looking or not console.interactive():
        raise part
    elif not typer.confirm(f"By '{part.text}', do you mean {part.called}?", err=True):
        raise typer.Exit(1)
    return part.meant


def wholly(finder: str) -> Callable[[typer.Context, str | None], str | None]:
    """Return what makes a whole name, or a code, of one that is typed.

    Parameters
    ----------
    finder : str
        The function of ``lookup`` that finds such a record; it is loaded when it is used.
        What it finds nothing for stays as it is: the action says so.
    """

    def whole(context: typer.Context, text: str | None) -> str | None:
        if text is None or context.resilient_parsing or lookup.is_code(text):
            return text
        studio = the_studio(context)
        if not studio.has_book:
            return text
        find: Callable[..., Any] = getattr(lookup, finder)
        try:
            with studio.reading() as book:
                find(book, text)
        except lookup.OnlyPart as part:
            return meant(context, part)
        except NotFound:
            pass
        return text

    return whole


whole_client = wholly("find_client")
whole_commission = wholly("find_commission")
