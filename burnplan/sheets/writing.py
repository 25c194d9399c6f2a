"""What is written where, and what was written."""

from dataclasses import dataclass
from pathlib import Path

from burnplan.errors import BadInput


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


def check_ending(path: Path, ending: str) -> None:
    """Refuse a name that says another kind of file than what will be in it.

    Parameters
    ----------
    path : Path
    ending : str
        Such as ``.pdf``.

    Raises
    ------
    BadInput
        If it ends in another way, or in none.
    """
    if path.suffix.lower() != ending:
        raise BadInput(
            f"'{path.name or path}' does not end in {ending}",
            f"Name it {path.stem or 'sheet'}{ending}",
        )
