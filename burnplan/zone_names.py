"""What zones are called: those of the picture by number, darkest first, and the lettering."""

LETTERING = 10
"""Number of the zone that lettering makes, beyond those of any picture (by definition)."""


def zone_mark(zone: int) -> str:
    """Return what stands for a zone where there is little room.

    Examples
    --------
    >>> zone_mark(3), zone_mark(LETTERING)
    ('Z3', 'Aa')
    """
    return "Aa" if zone == LETTERING else f"Z{zone}"


def zone_name(zone: int) -> str:
    """Return what a zone is called.

    Examples
    --------
    >>> zone_name(3), zone_name(LETTERING)
    ('Z3', 'Letters')
    """
    return "Letters" if zone == LETTERING else f"Z{zone}"
