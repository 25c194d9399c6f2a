"""The one family of errors that a user can meet.

Each carries a sentence that says what is wrong and, where there is one, a
sentence that says what to do next. They become a line on stderr and an exit
code in exactly one place, :func:`burnplan.cli.app.run`.
"""

from typing import ClassVar


class BurnplanError(Exception):
    """Base of every error meant for the user's eyes.

    Parameters
    ----------
    message : str
        What is wrong, one sentence without a final full stop.
    hint : str, optional
        What to do next, one sentence without a final full stop; a question with its mark.
    """

    exit_code: ClassVar[int] = 1

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        if not self.hint:
            return f"{self.message}."
        return f"{self.message}. {self.hint}{'' if self.hint.endswith('?') else '.'}"


class BadInput(BurnplanError):
    """What was asked or given cannot be used; nothing was changed (exit code 2)."""

    exit_code = 2


class NotFound(BadInput):
    """A code, title or name that matches nothing, or more than one thing."""


class NotAllowed(BadInput):
    """A request that the facts on record forbid (a blank held twice, a late undo)."""


class OperationFailed(BurnplanError):
    """The request was fair but could not be carried out (exit code 1)."""
