"""What is asked of a person at the terminal, one question at a time."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import partial
from importlib import import_module
from typing import Any

import typer

from burnplan.cli import reading
from burnplan.cli.usage import say_plainly
from burnplan.desk.derived import studio_settings
from burnplan.desk.studio import settings as desk
from burnplan.errors import BadInput
from burnplan.show import commands, console
from burnplan.unbroken import wrapped


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
        answer = _typed(label, default, show_default=bool(default))
        if not answer.strip():
            return None
        try:
            return check(answer)
        except BadInput as error:
            wording = reading.wording(None)
            say_plainly(commands.in_words(wording.of_error(error), wording))


def _typed(label: str, default: str | None, *, show_default: bool = False) -> str:
    """Return a line that is typed, by a person who can go back in it where there is readline."""
    with suppress(ImportError):
        import_module("readline")  # only here: on some terminals it writes as it is loaded
    return str(typer.prompt(label, default=default, show_default=show_default, err=True))


def agreed(question: str, *, default: bool = False) -> bool:
    """Ask what is answered by yes or no; Enter gives the one in capitals."""
    room = max(20, console.error_console().width - len(": yes"))
    label = "\n".join(wrapped(f"{question} {'[Y/n]' if default else '[y/N]'}", room))
    while True:
        answer = _typed(label, "").strip()
        if not answer:
            return default
        for meant, word in ((True, "yes"), (False, "no")):
            if word.startswith(answer.casefold()):
                return meant
        say_plainly(f"'{answer}' is neither yes nor no. Answer y or n.")


def choose(question: str, choices: Mapping[str, str]) -> str:
    """Ask which of several is meant, by number or how its words begin; Enter takes the first."""
    console.notice(f"{question}:")
    for number, words in enumerate(choices, start=1):
        console.notice(f"  {number}  {words}")

    def check(answer: str) -> str:
        said = answer.strip().casefold()
        found = {
            meant
            for number, (words, meant) in enumerate(choices.items(), start=1)
            if said == str(number) or (not said.isdigit() and words.casefold().startswith(said))
        }
        if len(found) != 1:
            raise BadInput(f"'{answer}' is not one of them", f"Give 1 to {len(choices)}")
        return found.pop()

    return str(ask("Which is meant", check, default="1"))


def ask_settings(settings: "studio_settings.Settings") -> "studio_settings.Settings":
    """Ask every setting, one by one; Enter keeps what is shown."""
    console.notice("A few questions; Enter keeps what is shown, a single dot all the rest.")
    console.notice("Everything can be changed later with: burnplan settings")
    for name, asked in studio_settings.ASKED.items():
        if asked.later:
            continue
        check = partial(_changed_unless_dot, settings, name)
        written = asked.written(getattr(settings, name), settings)
        answer = ask(asked.question, check, default=written)
        if answer is None:
            break
        settings = answer
    return settings


def _changed_unless_dot(
    settings: "studio_settings.Settings", name: str, text: str
) -> "studio_settings.Settings | None":
    return None if text.strip() == "." else desk.parsed(settings, name, text)


def reopened(steps: list[str], wanted: bool | None) -> bool:
    """Ask whether steps that a change undoes are opened again; unless it was said.

    Where nobody is there to answer they stay as they are, and that is said.
    """
    if not steps or wanted is not None:
        return bool(steps and wanted)
    what = steps[0] if len(steps) == 1 else f"{len(steps)} steps, from '{steps[0]}' on"
    if not console.interactive():
        console.notice(f"Done before, and stays ticked: {what}. To do it again, add --reopen")
        return False
    return agreed(f"This undoes {what}. Open what is undone again?", default=True)


def need_somebody(otherwise: str, hint: str) -> None:
    """Go on only where a person can be asked; say what must be given where nobody is there."""
    if not console.interactive():
        raise BadInput(otherwise, hint)


def sure(question: str, yes: bool) -> None:
    """Ask before something that cannot be taken back lightly.

    Raises
    ------
    BadInput
        If nobody is there to answer.
    """
    if yes:
        return
    need_somebody("This needs to be confirmed", "Add --yes to do it without asking")
    if not agreed(question):
        raise typer.Exit(1)
