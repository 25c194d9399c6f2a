"""Cells of CSV files, which people open in spreadsheets."""

# What a cell may begin with that a spreadsheet would take for a formula.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def safe_cell(text: str) -> str:
    """Return text as a cell that no spreadsheet takes for a formula.

    Examples
    --------
    >>> safe_cell("=1+1")
    "'=1+1"
    >>> safe_cell("Old barn")
    'Old barn'
    """
    return f"'{text}" if text.startswith(FORMULA) else text
