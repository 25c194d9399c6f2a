"""Text as people type it, cleaned of what no record or terminal should hold."""

from burnplan.errors import BadInput


def cleaned(text: str, what: str, *, longest: int = 200) -> str:
    r"""Return a line of text without control characters or stray spaces.

    Raises
    ------
    BadInput
        If it is empty or too long.

    Examples
    --------
    >>> cleaned("  Two \x1b[31m cats ", "title")
    'Two [31m cats'
    """
    plain = cleaned_line(text)
    if not plain:
        raise BadInput(f"The {what} is empty", f"Give a {what}")
    if len(plain) > longest:
        raise BadInput(f"The {what} is longer than {longest} characters", "Shorten it")
    return plain


def cleaned_line(text: str) -> str:
    """Return a line of text without control characters or stray spaces; it may be empty."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def cleaned_note(text: str) -> str:
    """Return free text without control characters; it may be empty and have lines."""
    return "".join(c for c in text if c.isprintable() or c == "\n").strip()[:10_000]
