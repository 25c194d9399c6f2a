"""Sanding: which grit comes next (common practice, no source)."""

from dataclasses import dataclass

# In order; after 220 the grain is raised with water and dried, so that the
# last grit takes off the fibres that would rise under a finish.
SEQUENCE = (120, 150, 220, 320)
RAISE_GRAIN_AFTER = 220


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
        The finest grit done; None for a rough face.
    raised : bool
        Whether the grain has been raised since.

    Examples
    --------
    >>> [step.grit for step in still_to_do(150)]
    [220, None, 320]
    >>> [step.grit for step in still_to_do(220, raised=True)]
    [320]
    """
    steps: list[Sanding] = []
    for grit in SEQUENCE:
        if reached is None or grit > reached:
            steps.append(Sanding(grit))
        if grit == RAISE_GRAIN_AFTER and not raised and (reached is None or reached <= grit):
            steps.append(Sanding(None))
    return tuple(steps)
