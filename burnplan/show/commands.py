"""What the desk says can be done, as commands to copy."""

import re
import shlex
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

from burnplan.sentences import Action, Do, Sentence
from burnplan.wording import AS_WRITTEN, Wording

COMMANDS: Final[dict[Action, str]] = {
    "blank.add_photo": "blank photo {blank} {photo}",
    "blank.climate": "blank climate",
    "blank.fit": "blank fit {job} --photo {photo}",
    "blank.list": "blank list",
    "blank.moisture": "blank moisture {blank} 9.5",
    "blank.movement": "blank movement {blank} --home '21C 40%'",
    "blank.override": "blank override {blank} {reason}",
    "blank.release": "blank release {blank}",
    "blank.species": "blank species",
    "blank.species_add": "blank species-add",
    "book.backup": "backup",
    "book.check": "check",
    "book.check_from": "check --repair --from {file}",
    "book.history": "history",
    "book.open": "jobs",
    "book.restore": "restore {file}",
    "client.add": "client add {client}",
    "commission.list": "commission list",
    "commission.size": "commission edit {job} --size 30x40cm",
    "consent.note": "portfolio consent {job} yes --how 'in a mail'",
    "days_off.list": "days-off list",
    "finish.plan": "finish plan {job} {product} --dry 8h",
    "ladder.add": "ladder add",
    "ladder.list": "ladder list",
    "past.import": "past import {file}",
    "past.list": "past list",
    "payment.list": "payment list",
    "photo.add": "photo add {job} {photo}",
    "photo.compare": "photo compare {job} {photo}",
    "photo.list": "photo list",
    "quote.issue": "quote issue {job}",
    "reference.add": "reference add {job} {photo}",
    "lettering.list": "reference letters {job}",
    "session.correct": "session correct {session}",
    "session.list": "session list",
    "session.log": "session enter",
    "session.planned": "session planned",
    "session.start": "session begin",
    "session.start_on": "session begin {job}",
    "session.stop": "session end",
    "session.unplan": "session unplan {session}",
    "settings.target": "settings hourly_target={amount}",
    "step.list": "step list {job}",
    "step.tick": "step tick {job} {steps}",
    "step.untick": "step untick {job} {step}",
}
"""Each action that is a command of its own; what is not known of it stays in capitals."""

OPTIONS: Final[dict[Action, tuple[str, str]]] = {
    "consent.how": ("portfolio consent", "--how"),
    "consent.shown_as": ("portfolio consent", "--shown-as"),
    "drop.owed": ("commission drop", "--owed"),
    "file.replace": ("job-sheet", "--replace"),
    "finish.coats": ("finish plan", "--coats"),
    "hold.override": ("blank hold", "--override"),
    "hold.reason": ("blank hold", "--override"),
    "import.replace": ("import", "--replace"),
    "letter.because": ("letter", "--because"),
    "letter.until": ("letter", "--until"),
    "past.columns": ("past import", "--columns"),
    "promise.hours": ("promise", "--hours"),
    "quote.because": ("quote issue", "--because"),
    "quote.hours": ("quote issue", "--hours"),
    "review.due_from": ("jobs", "--due-from"),
    "undo.anybody": ("undo", "--anybody"),
    "session.length": ("session correct", "--length"),
    "whatif.size": ("whatif", "--size"),
}
"""Each action that is said with a command: that, and its option."""


_OTHERWISE: ContextVar[Callable[[Sentence], str] | None] = ContextVar("otherwise", default=None)


def in_words(said: Sentence, wording: Wording = AS_WRITTEN) -> str:
    """Return a sentence for who types commands.

    Examples
    --------
    >>> in_words(Sentence("Add one: ", Do("reference.add", job="C-0007")))
    'Add one: burnplan reference add C-0007 PHOTO'
    >>> in_words(Sentence("See ", Do("step.list", job="C-0007"), ", or give ", Do("quote.hours")))
    "See 'burnplan step list C-0007', or give --hours"
    """
    other = _OTHERWISE.get()
    if other is not None:
        return other(said)
    return said.worded(lambda do, before: _in_place(do, before, wording))


@contextmanager
def otherwise(worded: Callable[[Sentence], str]) -> Iterator[None]:
    """Let what is shown say otherwise what can be done: not everybody types commands."""
    before = _OTHERWISE.set(worded)
    try:
        yield
    finally:
        _OTHERWISE.reset(before)


def _in_place(do: Do, before: str, wording: Wording) -> str:
    said = typed(do, wording)
    return said if do.action in OPTIONS or before.endswith((": ", "(")) else f"'{said}'"


def typed(do: Do, wording: Wording = AS_WRITTEN) -> str:
    """Return an action as it is typed: a command, or an option of one with its value."""
    values = {
        name: value if name == "steps" else shlex.quote(value) for name, value in do.values.items()
    }
    if do.action in OPTIONS:
        return " ".join([OPTIONS[do.action][1], *values.values()])

    def known(field: re.Match[str]) -> str:
        return values.get(field[1], field[1].upper())

    return "burnplan " + re.sub(r"\{(\w+)\}", known, wording.own(COMMANDS[do.action]))
