"""The help of commands: their examples in one piece each, to be copied, and all names whole."""

import re
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from typer.core import TyperCommand, TyperGroup

from burnplan.cli import reading

if TYPE_CHECKING:
    from rich.console import RenderableType

# Names longer than this have a line of their own, above what they are.
_BESIDE = 28


class HelpedCommand(TyperCommand):
    """A command with such a help, which asks nothing where nobody is there to answer."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read what was typed; an option that would be asked for is then missing, and named."""
        one: Any
        for one in () if sys.stdin.isatty() and sys.stdout.isatty() else self.params:
            one.prompt = None
        return super().parse_args(ctx, args)

    def format_help(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        """Print it."""
        _show(self, ctx)


class HelpedGroup(TyperGroup):
    """A group of commands, helped in the same way."""

    def format_help(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        """Print it."""
        _show(self, ctx)


def _show(command: Any, ctx: Any) -> None:
    from rich.text import Text

    from burnplan.show.console import show

    own = reading.wording(ctx.find_root().obj).own
    usage = " ".join([ctx.command_path, *command.collect_usage_pieces(ctx)])
    show(Text(f"Usage: {usage}"), *_paragraphs(own(command.help)))
    lists: dict[str, dict[str, str]] = {"Arguments": {}, "Options": {}, "Commands": {}}
    for value in command.get_params(ctx):
        if (record := value.get_help_record(ctx)) is not None:
            kind = "Arguments" if value.param_type_name == "argument" else "Options"
            name, says = record
            lists[kind][name] = own(says)
    for name, one in getattr(command, "commands", {}).items():
        if not one.hidden:
            lists["Commands"][name] = own(one.help.partition("\n")[0])
    for heading, rows in lists.items():
        if rows:
            beside = max((len(name) for name in rows if len(name) <= _BESIDE), default=0)
            show(Text(f"\n{heading}", "ember"), *listed(rows, beside))


def _paragraphs(text: str) -> "Iterator[RenderableType]":
    """Yield what a command says of itself; each example, over whatever lines, is one."""
    from rich.text import Text

    for part in re.split(r"\n\n|\n(?=  burnplan )", text):
        words = " ".join(part.split())
        yield Text(f"  {words}" if part.startswith("  ") else f"\n{words}")


def listed(rows: dict[str, str], beside: int) -> "Iterator[RenderableType]":
    """Yield names with what they are beside them, or under a name that is longer than that."""
    from rich.markup import escape
    from rich.padding import Padding
    from rich.text import Text

    from burnplan.show.console import facts

    for name, says in rows.items():
        if len(name) > beside:
            yield Text(f"  {name}", "title")
        first = escape(f"{'' if len(name) > beside else name:{beside}}")
        yield Padding(facts((f"[title]{first}[/]", Text(says))), (0, 0, 0, 2), expand=False)
