"""Sentences in which things to do are named, in no front end's words.

What the desk says of an error or beside an answer often is what to do next. That
is a command to one who types, a key to one at the workbench: so a sentence holds
the action with its values, and each front end words it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from pydantic_core.core_schema import CoreSchema, SerializationInfo

Action = Literal[
    "blank.add_photo", "blank.climate", "blank.fit", "blank.list", "blank.moisture",
    "blank.movement", "blank.override", "blank.release", "blank.species", "blank.species_add",
    "book.backup", "book.check", "book.check_from", "book.history", "book.open", "book.restore",
    "client.add",
    "commission.list", "commission.size",
    "consent.how", "consent.note", "consent.shown_as",
    "days_off.list",
    "drop.owed",
    "file.replace",
    "finish.coats", "finish.plan",
    "hold.override", "hold.reason",
    "import.replace",
    "ladder.add", "ladder.list",
    "letter.because", "letter.until",
    "past.columns", "past.import", "past.list",
    "payment.list",
    "photo.add", "photo.compare", "photo.list",
    "promise.hours",
    "quote.because", "quote.hours", "quote.issue",
    "reference.add",
    "lettering.list",
    "review.due_from",
    "session.correct", "session.length", "session.list", "session.log", "session.planned",
    "session.start", "session.start_on", "session.stop", "session.unplan",
    "settings.target",
    "step.list", "step.tick", "step.untick",
    "undo.anybody",
    "whatif.size",
]  # fmt: skip
"""What is done with the program: a noun, and what is done with or said of it."""


@dataclass(frozen=True, init=False)
class Do:
    """An action of the program, to be named in a sentence.

    Parameters
    ----------
    action : Action
    **values
        What it is done with, as far as is known: codes, numbers, names.

    Examples
    --------
    >>> str(Do("quote.issue", job="C-0007"))
    'quote.issue(job=C-0007)'
    """

    action: Action
    values: dict[str, str]

    def __init__(self, action: Action, /, **values: object) -> None:
        object.__setattr__(self, "action", action)
        object.__setattr__(self, "values", {name: str(value) for name, value in values.items()})

    def __str__(self) -> str:
        return f"{self.action}({', '.join(f'{name}={v}' for name, v in self.values.items())})"


@dataclass(frozen=True, init=False)
class Sentence:
    """Plain words, and between them the actions that they name.

    Parameters
    ----------
    *parts : str or Do
        In the order they are said. After a colon or an opening bracket an action
        stands by itself; elsewhere it stands within the sentence, as a noun.

    Examples
    --------
    >>> said = Sentence("Issue one: ", Do("quote.issue", job="C-0007"))
    >>> said.worded(lambda do, before: "press i")
    'Issue one: press i'
    """

    parts: tuple[str | Do, ...]

    def __init__(self, *parts: str | Do) -> None:
        object.__setattr__(self, "parts", parts)

    def worded(self, word: Callable[[Do, str], str]) -> str:
        """Return the sentence, its actions worded by a function of each and what is before it."""
        said = ""
        for part in self.parts:
            said += part if isinstance(part, str) else word(part, said)
        return said

    def __str__(self) -> str:
        return self.worded(lambda do, _before: str(do))

    @classmethod
    def __get_pydantic_core_schema__(cls, _source: object, _handler: object) -> "CoreSchema":
        """Let views hold sentences; in JSON each is text, as the writer words it."""
        from pydantic_core import core_schema

        def text(sentence: Sentence, info: "SerializationInfo[Any]") -> str:
            return str(sentence if info.context is None else info.context(sentence))

        return core_schema.is_instance_schema(
            cls,
            serialization=core_schema.plain_serializer_function_ser_schema(
                text, info_arg=True, return_schema=core_schema.str_schema()
            ),
        )
