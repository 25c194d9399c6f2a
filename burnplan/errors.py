"""The one family of errors that a user can meet.

Each carries a sentence that says what is wrong and, where there is one, a
sentence that says what to do next: an action of the program in it is named in
no front end's words. They become a line on stderr and an exit code in exactly
one place, :func:`burnplan.cli.app.run`.
"""

from typing import ClassVar

from burnplan.sentences import Do, Sentence


class BurnplanError(Exception):
    """Base of every error meant for the user's eyes.

    Parameters
    ----------
    message : str
        What is wrong, one sentence without a final full stop.
    *remedy : str or Do
        What to do next, the parts of one sentence without a final full stop; a question
        with its mark.
    """

    exit_code: ClassVar[int] = 1

    def __init__(self, message: str, *remedy: str | Do) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = Sentence(*remedy)

    @property
    def sentence(self) -> Sentence:
        """All that it says, with full stops."""
        if not self.remedy.parts:
            return Sentence(f"{self.message}.")
        asks = str(self.remedy).endswith("?")
        return Sentence(f"{self.message}. ", *self.remedy.parts, "" if asks else ".")

    def __str__(self) -> str:
        return str(self.sentence)


class BadInput(BurnplanError):
    """What was asked or given cannot be used; nothing was changed (exit code 2)."""

    exit_code = 2


class NotFound(BadInput):
    """A code, title or name that matches nothing, or more than one thing."""


class NotAllowed(BadInput):
    """A request that the facts on record forbid (a blank held twice, a late undo)."""


class OperationFailed(BurnplanError):
    """The request was fair but could not be carried out (exit code 1)."""
