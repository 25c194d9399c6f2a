"""Records named by part of what they are called: the whole is said, and asked about.

What only looks says beside its answer whom it took the part for. What changes or
writes something asks first. A script, which nobody watches, gives whole names or codes.
"""

from collections.abc import Callable
from typing import Any

import typer

from burnplan.cli import asking
from burnplan.cli.common import the_studio
from burnplan.desk.studio import lookup
from burnplan.desk.wood import own_species
from burnplan.errors import BadInput, NotFound
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
    elif not asking.agreed(f"By '{part.text}', do you mean {part.called}?"):
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


def which_wood(context: typer.Context, text: Any) -> Any:
    """Ask which wood is meant by a name of the trade, or by one misspelt; else it is said later.

    Parameters
    ----------
    context : typer.Context
    text : str, list of str or None
        As typed.

    Returns
    -------
    str, list of str or None
        A key of the species table for such a name, else what was typed.
    """
    if isinstance(text, list | tuple):
        return [which_wood(context, one) for one in text]
    if text is None or context.resilient_parsing or not console.interactive():
        return text
    keys = [wood.key for wood in own_species.kinds(the_studio(context), text)]
    if not keys:
        return _perhaps(context, text)

    def named(answer: str) -> str:
        if answer.strip().isdecimal():  # lists elsewhere are answered by number
            place = int(answer) - 1
            if not 0 <= place < len(keys):
                raise BadInput(f"'{answer.strip()}' is none of them", "Name one of them")
            return keys[place]
        if own_species.kinds(the_studio(context), answer):
            raise BadInput(f"'{answer}' is several woods", "Name one of them, or its full name")
        own_species.meant(the_studio(context), answer)
        return answer

    choices = " or ".join(keys) if keys[1:] else f"{keys[0]}, or another"
    return asking.ask(f"Which {text.strip().lower()}: {choices}", named, default=keys[0])


def _perhaps(context: typer.Context, text: str) -> str:
    """Ask whether one of the table is meant by a wood that is nearly spelt like it."""
    near = own_species.nearly(the_studio(context), text)
    if not near:
        return text
    choices = {key: key for key in near} | {f"'{text.strip()}', a wood of your own": text}
    return asking.choose(f"'{text.strip()}' is not in the species table", choices)


whole_client = wholly("find_client")
whole_commission = wholly("find_commission")
