"""Sanding: which grit comes next (common practice, no source)."""

from collections.abc import Iterable
from dataclasses import dataclass

# In order; after 220 the grain is raised with water and dried, so that the
# last grit takes off the fibres that would rise under a finish (common practice, no source).
SEQUENCE = (120, 150, 220, 320)
RAISE_GRAIN_AFTER = 220  # common practice, no source


@dataclass(frozen=True, slots=True)
class Sanding:
    """One thing to do with a face: sand it with a grit, or wet it (grit None)."""

    grit: int | None

    @property
    def label(self) -> str:
        """What to do, in words."""
        if self.grit is None:
            return "wipe with a damp cloth to raise the grain, let it dry"
        return f"sand with {self.grit} grit, along the grain"


def still_to_do(reached: int | None, *, raised: bool = False) -> tuple[Sanding, ...]:
    """Return the sanding left to do on a face, in order.

    Parameters
    ----------
    reached : int or None
        The grit the face is sanded to; None for a rough face.
    raised : bool
        Whether the grain has been raised since.

    Examples
    --------
    >>> [step.grit for step in still_to_do(150)]
    [220, None, 320]
    >>> [step.grit for step in still_to_do(220, raised=True)]
    [320]
    """
    left = [grit for grit in SEQUENCE if reached is None or grit > reached]
    coarse = [Sanding(grit) for grit in left if grit <= RAISE_GRAIN_AFTER]
    fine = [Sanding(grit) for grit in left if grit > RAISE_GRAIN_AFTER]
    # Wetting is of use only while a grit is still to come that takes off what rises.
    wet = [] if raised or not fine else [Sanding(None)]
    return (*coarse, *wet, *fine)


ALL_SANDINGS = len(still_to_do(None))
"""Grits and wettings of a rough blank."""


def left_after(history: Iterable[int | None]) -> tuple[Sanding, ...]:
    """Return the sanding left after what was done to a face, in the order it was done.

    The last grit counts, not the finest: going back to a coarser one, to take out
    a scratch, means working up again. Wetting counts only if no coarse grit
    (up to 220) came after it and cut the raised fibres off with the face.

    Parameters
    ----------
    history : iterable of int or None
        Grits, and None for each wetting, oldest first; empty for a rough face.

    Examples
    --------
    >>> [step.grit for step in left_after([120, 150])]
    [220, None, 320]
    >>> [step.grit for step in left_after([120, 150, 220, None])]
    [320]
    >>> [step.grit for step in left_after([120, 150, 220, None, 150])]
    [220, None, 320]
    >>> left_after([120, 150, 220, None, 320])
    ()
    """
    reached: int | None = None
    raised = False
    for grit in history:
        if grit is None:
            raised = True
            continue
        reached = grit
        if grit <= RAISE_GRAIN_AFTER:
            raised = False
    # Wetted while still coarse, the grain has to be raised again after 220.
    raised = raised and reached is not None and reached >= RAISE_GRAIN_AFTER
    return still_to_do(reached, raised=raised)
