"""Errors of the desk in the workbench's words: where a hint names a command, say the key."""

import re

from burnplan.errors import BurnplanError

# What the desk's hints name for the command line, and what it is called here; the first that
# fits is put in its place.
_HERE: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), here)
    for pattern, here in (
        (r"Add one \(burnplan reference add \S+ PHOTO\) or say --hours",
         "Press r on its page for the photo, or give the hours"),
        (r"Give it \(burnplan commission edit .*\) or hold a blank for it",
         "Press e to give it, or h to hold a blank"),
        (r"Add one: burnplan reference add.*", "Press r on its page to add its photo"),
        (r"(Stop|Stop or pause) it first: burnplan session stop", "Press s to stop it first"),
        (r"Start one with: burnplan session start", "Choose a job and press c"),
        (r"Issue one: burnplan quote issue \S+", "Press i on its page"),
        (r"Release that one first: burnplan blank release",
         "Release that one first: 3 Blanks, then r"),
        (r"Release it, or say why it is safe: burnplan blank override .*",
         "Release it, or say why it is safe: ctrl+p, Set a hazard aside"),
        (r"Choose another blank and follow local rules; .* --override",
         "Choose another blank and follow local rules"),
        (r"Add one with: burnplan client add .*", "Clients are added with their first commission"),
        (r"Log hours worked with: burnplan session log", "Press g to log hours worked"),
        (r"Burn a strip on an offcut: burnplan ladder add",
         "Burn a strip on an offcut and put it on record: burnplan ladder add"),
        # The lists are pages here, and nothing is typed that could be told apart by them.
        (r"See:? '?burnplan [a-z ]+'?( C-\d+)?", ""),
        (r"Untick it first", "Press space to open it again first"),
    )
)  # fmt: skip


def in_words(error: BurnplanError) -> str:
    """Return an error as a line of the workbench.

    Examples
    --------
    >>> from burnplan.errors import NotFound
    >>> in_words(NotFound("No clock is running", "Start one with: burnplan session start"))
    'No clock is running. Choose a job and press c.'
    """
    hint = error.hint
    for pattern, here in _HERE:
        if pattern.fullmatch(hint):
            hint = here
            break
    return f"{error.message}. {hint}." if hint else f"{error.message}."
