"""What is written where, and what was written."""

from dataclasses import dataclass
from pathlib import Path

from burnplan.errors import BadInput


@dataclass(frozen=True, slots=True)
class Written:
    """A sheet that was written; ``notes`` say what may disappoint, a sentence each.

    Whatever writes one does so as a whole or not at all, and raises as
    :func:`~burnplan.files.written_whole` does: if the folder does not exist, the file
    cannot be written, or one is there that nobody said may be replaced.
    """

    path: Path
    pages: int  # 0 for a file that has none, such as SVG
    notes: tuple[str, ...] = ()


def check_ending(path: Path, ending: str) -> None:
    """Refuse a name that says another kind of file, such as ``.pdf``, than what will be in it.

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
