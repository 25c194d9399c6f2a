"""What people call records by: C-0007, B-0012, L-0003, P-0004."""


def commission_code(number: int) -> str:
    """Return the code of a commission.

    Examples
    --------
    >>> commission_code(7)
    'C-0007'
    """
    return f"C-{number:04d}"


def blank_code(number: int) -> str:
    """Return the code of a blank.

    Examples
    --------
    >>> blank_code(12)
    'B-0012'
    """
    return f"B-{number:04d}"


def ladder_code(number: int) -> str:
    """Return the code of a tone ladder.

    Examples
    --------
    >>> ladder_code(3)
    'L-0003'
    """
    return f"L-{number:04d}"


def client_code(number: int) -> str:
    """Return the code of a client, a person.

    Examples
    --------
    >>> client_code(4)
    'P-0004'
    """
    return f"P-{number:04d}"
