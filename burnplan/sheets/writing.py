"""What was written."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Written:
    """A sheet that was written.

    Parameters
    ----------
    path : Path
    pages : int
        0 for a file that has none, such as SVG.
    notes : tuple of str
        What may disappoint, a sentence each.
    """

    path: Path
    pages: int
    notes: tuple[str, ...] = ()
