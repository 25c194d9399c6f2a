"""Work beside the screen: the book and the pictures must never hold up a key."""

import asyncio
import gc
import sys
from collections.abc import Callable
from threading import Event
from typing import ParamSpec, TypeVar

from burnplan.errors import BurnplanError, OperationFailed

P = ParamSpec("P")
T = TypeVar("T")

# Objects made since the last sweep: some tens of megabytes at most.
_MUCH = 50_000


def keys_first() -> None:
    """Let nothing hold up the keys for long; once, before the workbench is run.

    The interpreter is handed over ten times sooner than usual while threads look
    things up. The collector, which stops every thread for a tenth of a second
    when a thousand jobs are in memory, waits for :func:`sweep`.
    """
    sys.setswitchinterval(0.0005)
    gc.freeze()
    gc.disable()


def sweep() -> None:
    """Collect what nothing uses any more, if there is much; for when nobody waits for a key."""
    if not gc.isenabled() and gc.get_count()[0] > _MUCH:
        gc.collect()


class Unforeseen(OperationFailed):
    """Something went wrong that should not have: in the book perhaps, else in the program."""

    def __init__(self, error: Exception) -> None:
        super().__init__(
            f"That failed ({type(error).__name__}: {error})",
            "What was done before is on record; please report this",
        )


class Stopped(BurnplanError):
    """Long work was stopped by the artist."""


async def aside(what: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """Do something on a thread and wait for it without holding up the screen.

    Raises
    ------
    BurnplanError
        Whatever goes wrong, also what nobody foresaw: it is a line on the
        screen, never the end of the workbench.
    """
    try:
        return await asyncio.to_thread(what, *args, **kwargs)
    except BurnplanError:
        raise
    except Exception as error:
        raise Unforeseen(error) from error


class Stopper:
    """Stops long work at its next report of progress.

    ``asked_for`` where the artist waits for it, not the screen for a picture.
    """

    def __init__(self, tell: Callable[[float, str], None], *, asked_for: bool) -> None:
        self._tell, self._stopped = tell, Event()
        self.asked_for = asked_for

    def stop(self) -> None:
        """Stop it."""
        self._stopped.set()

    def __call__(self, share: float, label: str) -> None:
        """Pass progress on, or raise Stopped."""
        if self._stopped.is_set():
            raise Stopped("Stopped", "Nothing was changed")
        self._tell(share, label)
