"""What comes with the program beside its modules."""

from pathlib import Path

from burnplan.errors import OperationFailed


def shipped(name: str) -> Path:
    """Return a file or folder of the program: within it in a wheel, beside it in a checkout.

    Raises
    ------
    OperationFailed
        If it is missing.

    Examples
    --------
    >>> shipped("sample_data/cat.png").name
    'cat.png'
    """
    package = Path(__file__).parent
    for around in (package, package.parent):
        if (around / name).exists():
            return around / name
    raise OperationFailed(f"Burnplan's own '{name}' is missing", "Install burnplan again")
