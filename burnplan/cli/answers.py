"""What a command has to say that only looks: drawn, as JSON, or the schema of that."""

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from inspect import Parameter, signature, unwrap
from typing import TYPE_CHECKING, Annotated, Any, Generic, TypeVar, get_args, get_type_hints

import typer

from burnplan.cli.options import taking
from burnplan.desk.studio import paging
from burnplan.show import commands, console
from burnplan.terminal_safe import harmless_json

if TYPE_CHECKING:
    from rich.console import RenderableType

Found = TypeVar("Found")

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of a table.")]
AsSchema = Annotated[
    bool, typer.Option("--json-schema", help="Print the JSON Schema of --json, and stop.")
]


@dataclass(frozen=True)
class Answer(Generic[Found]):
    """What a command found.

    Parameters
    ----------
    found : Found
        As it is printed with ``--json``.
    draw : callable
        Makes what is shown of it otherwise; None if nothing is.
    page : ListPage, optional
        Which page it is of a list: a full one may have another after it.
    exit_code : int
        What the program ends with.
    """

    found: Found
    draw: Callable[[Found], "RenderableType | None"]
    page: "paging.ListPage | None" = None
    exit_code: int = 0


def answers(command: Callable[..., Answer[Any]]) -> Callable[..., None]:
    """Let a command say what it found: drawn, or with ``--json`` in the form it returns.

    For ``--json-schema`` it is not called: that needs no book.
    """

    @wraps(command)
    def run(*, as_json: bool = False, as_schema: bool = False, **given: Any) -> None:
        if as_schema:
            schema = _type_of(command).json_schema(mode="serialization")
            sys.stdout.write(json.dumps(schema, indent=2) + "\n")
            return
        answer = command(**given)
        if as_json:
            printed = _type_of(command).dump_json(answer.found, indent=2, context=commands.in_words)
            sys.stdout.write(harmless_json(printed.decode()) + "\n")
        else:
            page = answer.page
            if page is not None and len(answer.found) == page.rows:
                console.notice(
                    f"Page {page.number}, {page.rows} rows; more may follow:"
                    f" --page {page.number + 1}"
                )
            if page is not None and page.number > 1 and not answer.found:
                console.show(f"[soft]Nothing is on page {page.number}: the list ends before[/]")
            elif (shown := answer.draw(answer.found)) is not None:
                console.show(shown)
        if answer.exit_code:
            raise typer.Exit(answer.exit_code)

    asked = (("as_json", AsJson), ("as_schema", AsSchema))
    return taking(
        run,
        [
            *signature(command).parameters.values(),
            *(
                Parameter(name, Parameter.KEYWORD_ONLY, default=False, annotation=kind)
                for name, kind in asked
            ),
        ],
    )


def _type_of(command: Callable[..., Answer[Any]]) -> Any:
    """Return pydantic's adapter of what a command finds, of what it says it returns."""
    from pydantic import TypeAdapter

    (kind,) = get_args(get_type_hints(unwrap(command))["return"])
    return TypeAdapter(kind)
