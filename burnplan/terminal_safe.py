"""Text that a terminal shows as it is, whatever somebody hid in it.

A title, a file's name or a word of the command line can hold characters that a
terminal obeys: escape sequences, bells, marks that turn the reading direction.
"""

import re

# Controls but tab and line feed; marks of direction, line and paragraph; halves of
# characters, which stand for bytes that were no UTF-8.
_OBEYED = r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"


def terminal_safe(text: str) -> str:
    r"""Return text with a mark in place of each character that a terminal obeys.

    Examples
    --------
    >>> terminal_safe("Fox\x1b[2J")
    'Fox�[2J'
    """
    return text if text.isprintable() else re.sub(_OBEYED, "\ufffd", text)


def harmless_json(text: str) -> str:
    r"""Return JSON in which such characters are escaped: it means the same.

    Examples
    --------
    >>> harmless_json('"\u202exoF"')
    '"\\u202exoF"'
    """
    return re.sub(_OBEYED, lambda found: f"\\u{ord(found[0]):04x}", text)
