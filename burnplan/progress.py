"""How long work on pixels reports how far it has come."""

from collections.abc import Callable

Progress = Callable[[float, str], None]
"""Called with the fraction done, 0 to 1 and never falling, and what is being done."""


def silent(_fraction: float, _label: str) -> None:
    """Report nothing."""


def part(progress: Progress, start: float, stop: float) -> Progress:
    """Return a progress that fills only the stretch from start to stop of another.

    Parameters
    ----------
    progress : Progress
        What is told in the end.
    start, stop : float
        The stretch, fractions of the whole with ``start <= stop``.

    Returns
    -------
    Progress

    Examples
    --------
    >>> part(lambda done, label: print(f"{done:.2f} {label}"), 0.5, 0.9)(0.5, "tracing")
    0.70 tracing
    """

    def tell(fraction: float, label: str) -> None:
        progress(start + (stop - start) * min(max(fraction, 0.0), 1.0), label)

    return tell
