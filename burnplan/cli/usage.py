"""What was typed wrongly, in words: the parser's own are a programmer's."""

import os
import re
import sys
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from burnplan.terminal_safe import terminal_safe
from burnplan.unbroken import broken

if TYPE_CHECKING:
    import typer

# How like the one typed (difflib's ratio) is what is asked about; dashes of options count.
_LIKE = 0.7
_CODE = re.compile(r"[CcBb]-?\d+")


def explained(error: "typer.TyperException") -> str:
    """Return what is wrong with a command as typed, and where to look.

    Parameters
    ----------
    error : typer.TyperException
        As the parser raises it; checks of values carry pydantic's error as their cause.
    """
    context: Any = getattr(error, "ctx", None)
    command = context.command_path if context else "burnplan"
    see = f"See '{command} --help'"
    name = getattr(error, "option_name", "")
    if re.match(r"-\d", name):
        message = "No number can be below zero here"
        if command == "burnplan payment add":
            see = "Money given back is put on record with 'burnplan payment refund'"
    elif near := get_close_matches(name, getattr(error, "possibilities", None) or [], 2, _LIKE):
        message = f"No such option: {name}. Did you mean {' or '.join(near)}?"
    elif hasattr(error, "possibilities"):
        message = f"No such option: {name}"
    elif (problem := _problem(error)) is not None:
        parameter: Any = error.param  # type: ignore[attr-defined]
        typed = str(problem["input"])
        named = parameter.get_error_hint().replace("'", "")
        message = f"Invalid value for {named}: {_wrong(problem)}"
        if parameter.param_type_name == "argument" and problem["type"].startswith("int"):
            message += f"; wanted is {_decapitalised(parameter.help or 'a number').rstrip('.')}"
            listing = getattr(context.parent.command, "commands", {}).get("list")
            if listing is not None:
                of_one = any(one.param_type_name == "argument" for one in listing.params)
                code = f" {typed}" if of_one and _CODE.fullmatch(typed) else ""
                see = f"See '{context.parent.command_path} list{code}'"
    else:
        message = error.format_message().strip().rstrip(".")
        if unknown := re.match(r"(No such command '(.+?)')\.", message):
            message = unknown[1] + _perhaps(unknown[2], context)
    return f"{message}{'' if message.endswith('?') else '.'} {see}."


def _perhaps(typed: str, context: Any) -> str:
    """Ask after the commands that are like the one typed; the parser's own net is too wide."""
    known = [name for name, one in context.command.commands.items() if not one.hidden]
    near = " or ".join(f"'{one}'" for one in get_close_matches(typed, known, 2, _LIKE))
    return f". Did you mean {near}?" if near else ""


def _problem(error: Exception) -> dict[str, Any] | None:
    """Return the first thing that the check of a value found, if that is what failed."""
    found = getattr(error.__cause__, "errors", None)
    if found is None or getattr(error, "param", None) is None:
        return None
    problem: dict[str, Any] = found()[0]
    return problem


def _wrong(problem: dict[str, Any]) -> str:
    """Say what is wrong with a value."""
    typed, limits = problem["input"], problem.get("ctx", {})
    match problem["type"]:
        case "less_than_equal":
            return f"{typed} is above {limits['le']:g}"
        case "greater_than_equal":
            return f"{typed} is below {limits['ge']:g}"
        case "int_parsing" | "int_from_float":
            return f"'{typed}' is not a whole number"
        case "int_parsing_size":
            return "that is too large a number"
        case "float_parsing" | "finite_number":
            return f"'{typed}' is not a number"
        case "value_error":
            return str(limits["error"]).strip().rstrip(".")
    return f"'{typed}': {_decapitalised(problem['msg'])}"


def _decapitalised(text: str) -> str:
    return text[:1].lower() + text[1:]


def say_plainly(message: str) -> None:
    """Write a message to standard error: one line, or for a reader, broken between words."""
    line = terminal_safe(" ".join(message.split()))
    if sys.stderr.isatty():
        try:
            width = os.get_terminal_size(sys.stderr.fileno()).columns or 80  # 0: not known
        except OSError:
            width = 80
        line = broken(line, max(width, 20), over=True, after=2).replace("\n", "\n  ")
    sys.stderr.write(f"{line}\n")
