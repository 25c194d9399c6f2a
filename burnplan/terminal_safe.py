"""Text that a terminal shows as it is, whatever somebody hid in it.

A title, a file's name or a word of the command line can hold characters that a
terminal obeys: escape sequences, bells, marks that turn the reading direction.
"""

import re
import string

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


# What one shell or another may take for more than a letter of a word. Not all of them do
# so everywhere; but what is filled in by completion must mean itself in any place of any.
_OF_SHELLS = "".join(sorted(set(string.punctuation) - set("-._,/+")))
# Said beside a choice; zsh reads it as text of its own, and typer as rich's markup.
_SAID_INSTEAD = str.maketrans(dict(zip("\\\"'`$[]", "/”’’＄()", strict=False)))


def of_shells(text: str) -> str:
    """Return the characters of a text that a shell may take for more than letters.

    Examples
    --------
    >>> of_shells("sugar-maple"), of_shells("a-$(b)")
    ('', '$()')
    """
    return "".join(dict.fromkeys(letter for letter in text if letter in _OF_SHELLS))


def beside_a_choice(text: str) -> str:
    r"""Return words that can stand beside a choice in any shell without being run.

    Examples
    --------
    >>> beside_a_choice("Fox \\$(x) [b]")
    'Fox /＄(x) (b)'
    """
    return terminal_safe(text).translate(_SAID_INSTEAD)
