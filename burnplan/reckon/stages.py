"""The stage of a commission: derived from facts, never typed in."""

from enum import StrEnum
from typing import NamedTuple


class Stage(StrEnum):
    """How far a commission has come, in order."""

    ENQUIRY = "enquiry"
    PRICED = "priced"
    BOOKED = "booked"
    PREPARED = "prepared"
    TRANSFERRED = "transferred"
    BURNING = "burning"
    FINISHING = "finishing"
    READY = "ready"
    DELIVERED = "delivered"
    DROPPED = "dropped"


_ORDER = tuple(Stage)


def has_reached(stage: Stage, wanted: Stage) -> bool:
    """Return whether a commission has come so far; one that was dropped has not.

    Examples
    --------
    >>> has_reached(Stage.BURNING, Stage.PREPARED), has_reached(Stage.BOOKED, Stage.PREPARED)
    (True, False)
    """
    return stage is not Stage.DROPPED and _ORDER.index(stage) >= _ORDER.index(wanted)


class PhaseCount(NamedTuple):
    """How much of a phase of the checklist is settled: ticked, or skipped with a reason.

    Parameters
    ----------
    settled, open : int
        Numbers of steps.
    """

    settled: int = 0
    open: int = 0

    @property
    def complete(self) -> bool:
        """Whether it has steps and none is open."""
        return self.settled > 0 and self.open == 0

    @property
    def share(self) -> float:
        """Share settled, 0 to 1; 0 without steps."""
        steps = self.settled + self.open
        return self.settled / steps if steps else 0.0


class Facts(NamedTuple):
    """What a stage is derived from.

    Parameters
    ----------
    quoted, accepted : bool
        A quote was issued; one was accepted.
    deposit_met : bool
        The deposit asked for has been received (or none was asked for).
    prepare, transfer, burn, finish : PhaseCount
        Of burning, only the steps that burn: the zones.
    burned : bool
        A burn session is on record.
    delivered, dropped : bool
        Dropping a job is the last word, whatever was done before. A pause is not
        here: it is a fact beside the stage, which stays what it was.
    """

    quoted: bool = False
    accepted: bool = False
    deposit_met: bool = False
    prepare: PhaseCount = PhaseCount()
    transfer: PhaseCount = PhaseCount()
    burn: PhaseCount = PhaseCount()
    finish: PhaseCount = PhaseCount()
    burned: bool = False
    delivered: bool = False
    dropped: bool = False


def stage_of(facts: Facts) -> Stage:
    """Return the furthest stage that the facts prove.

    Facts arrive in any order, and every mixture of them has a stage. What has
    been done to the wood counts even if the paperwork lags behind: a piece
    being burned is burning, quote or no quote, and one whose lines are all
    traced is transferred, even if a step of its preparation was never ticked.
    Work still open on the wood counts too: ticking the finish of a piece that
    has unburned zones does not make it ready. A phase without steps proves
    nothing. More done never sets a job back.

    Examples
    --------
    >>> stage_of(Facts(quoted=True, accepted=True))
    <Stage.PRICED: 'priced'>
    >>> stage_of(Facts(burned=True))
    <Stage.BURNING: 'burning'>
    >>> stage_of(Facts(prepare=PhaseCount(4, 1), transfer=PhaseCount(9, 0)))
    <Stage.TRANSFERRED: 'transferred'>
    """
    if facts.dropped:
        return Stage.DROPPED
    if facts.delivered:
        return Stage.DELIVERED
    if facts.burn.complete:
        return Stage.READY if facts.finish.complete else Stage.FINISHING
    if facts.burned or facts.burn.settled:
        return Stage.BURNING
    if facts.transfer.complete:
        return Stage.TRANSFERRED
    if facts.prepare.complete:
        return Stage.PREPARED
    if facts.accepted and facts.deposit_met:
        return Stage.BOOKED
    return Stage.PRICED if facts.quoted or facts.accepted else Stage.ENQUIRY
