"""What a letter to a client can be for."""

from enum import StrEnum


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
