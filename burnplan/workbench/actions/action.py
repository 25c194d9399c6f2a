"""An action of the workbench: its key, its words, its deed, and when it can be done."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.binding import Binding

from burnplan.workbench.gather import JobDetail
from burnplan.workbench.keyline import Key, key_words

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench


def always(_bench: "Workbench") -> bool:
    """Allow an action whatever is on the screen."""
    return True


@dataclass(frozen=True, slots=True)
class Action:
    """Something the artist can do.

    Parameters
    ----------
    name : str
    words, about : str
        Its line in the palette, and what that does.
    do : callable
    can : callable
        Whether it can be done now; while not, it is off the key line and the palette.
    key : str
        As Textual names keys.
    short : str
        Its word on the key line; without one it is kept off.
    page : str
        The page on which its key works; all of them where empty.
    why : str or callable
        Said to who presses the key while it cannot be done; nothing where empty.
    foremost : bool
        Whether its key is shown before the others of its page, while it can be done.
    repeats : bool
        Whether a key held down does it again and again: only what writes nothing.
    """

    name: str
    words: str
    about: str
    do: Callable[["Workbench"], None]
    can: Callable[["Workbench"], bool] = always
    key: str = ""
    short: str = ""
    page: str = ""
    why: "str | Callable[[Workbench], str]" = ""
    foremost: bool = False
    repeats: bool = False

    def why_not(self, bench: "Workbench") -> str:
        """Return why it cannot be done now; nothing where there is nothing to say."""
        return self.why if isinstance(self.why, str) else self.why(bench)

    @property
    def does(self) -> str:
        """The app's action that does it."""
        return f"act('{self.name}')"

    @property
    def binding(self) -> Binding:
        """Its key, as Textual takes it."""
        return Binding(self.key, f"app.{self.does}", self.words)

    @property
    def on_key_line(self) -> Key:
        """Its key, as the key line shows it."""
        return Key(key_words(self.key), self.short, self.does)


def of_job(test: Callable[[JobDetail], object]) -> Callable[["Workbench"], bool]:
    """Return what tells whether a job is shown that passes a test."""
    return lambda bench: bench.job is not None and bool(test(bench.job))


on_job = of_job(lambda _: True)
on_open_job = of_job(lambda job: job.open)


def closed(bench: "Workbench") -> bool:
    """Tell whether a job is shown that is handed over or dropped."""
    return bench.job is not None and not bench.job.open


def unless_closed(why: str) -> Callable[["Workbench"], str]:
    """Return what says why something cannot be done; of a closed job, that it is."""
    return lambda bench: "It is closed" if closed(bench) else why


def job_meant(bench: "Workbench") -> bool:
    """Tell whether a key would know which job is meant."""
    return bench.meant is not None


def clock_open(bench: "Workbench") -> bool:
    """Tell whether the clock runs or is paused."""
    return bench.now is not None and bench.now.clock is not None
