"""What zones are asked for, and what is asked where nothing is said."""

FEWEST, MOST, DEFAULT_ZONES = 3, 9, 6
"""Numbers of zones that can be asked for (limits by definition), and how many are made when not
asked (common practice, no source: five to seven values are told apart in a drawing)."""

MIN_AREA_MM2 = 9.0
"""Smallest area a pen can hold, 3 × 3 mm (common practice, no source)."""
