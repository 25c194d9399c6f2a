"""What a letter to a client can be for."""

from enum import StrEnum
from typing import Final


class LetterKind(StrEnum):
    """What a letter is for."""

    PHOTOS = "photos"
    PROPOSAL = "proposal"
    ORDER = "order"
    DEPOSIT = "deposit"
    PROGRESS = "progress"
    DELAY = "delay"
    READY = "ready"
    BALANCE = "balance"
    THANKS = "thanks"


OWN_LETTERS: Final = "words/letters"
"""The folder of templates of the studio's own, in burnplan's home."""

ABOUT: Final = {
    LetterKind.PHOTOS: "better photos are wanted",
    LetterKind.PROPOSAL: "what the quote offers",
    LetterKind.ORDER: "confirmed, with the lettering to check",
    LetterKind.DEPOSIT: "received, with thanks",
    LetterKind.PROGRESS: "how far it is, with a photo",
    LetterKind.DELAY: "a new date, and why",
    LetterKind.READY: "it can be handed over",
    LetterKind.BALANCE: "a reminder of what is owed",
    LetterKind.THANKS: "how to care for it, and what may be shown",
}
"""What each kind says, in short."""
