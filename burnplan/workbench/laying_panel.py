"""The values at the laying-out table, as lines beside the picture."""

from typing import TYPE_CHECKING, NamedTuple

from textual.content import Content

from burnplan.unbroken import wrapped
from burnplan.workbench import drawing
from burnplan.workbench.drawing import EMBER, NAME, SOFT, STRONG

if TYPE_CHECKING:
    from collections.abc import Sequence

    from burnplan.workbench.laying import Row

# The letter that takes each value in hand.
LETTERS = {
    "shift": "p", "scale": "s", "turn": "t", "mirror": "m", "whole": "f", "margin": "e",
    "crop": "r", "black": "b", "white": "w", "midtone": "g", "contrast": "c", "levels": "a",
    "zones": "z", "line": "n", "subject": "S", "focal": "F", "drop": "D", "keep": "K",
}  # fmt: skip
_KINDS = ("subject", "focal", "drop", "keep")
_PARTS = {"shift": "Place", "black": "Tones", "zones": "Drawing"}
_CALLED = {"whole": "fit", "line": "lines"}
_HELP = {
    "shift": "Arrows or the mouse move the photo, shift goes further; + and - its size.",
    "scale": "Left and right: smaller and larger than fits.",
    "turn": "Left and right turn it by half a degree; q by a quarter.",
    "mirror": "Left and right changed over. Words would be read backwards.",
    "whole": "Fill the wood and crop, or show the whole photo.",
    "margin": "A strip inside the edge that stays bare: a length, or bark.",
    "crop": "The part of the photo to use. Arrows move it, shift and + - its size; drag draws it.",
    "black": "The lightness L* that is burned darkest.",
    "white": "The lightness L* from which wood stays bare.",
    "midtone": "Above 1 lightens the middle tones, below darkens.",
    "contrast": "Detail against what is round it, 0 to 100.",
    "levels": "Black and white found from the photo, where you give none.",
    "zones": "How many flat tones; v shows them.",
    "line": "How much is drawn: calm, usual or fine; o lays them over.",
    "subject": "Roughly round what is burned: the rest is left bare.",
    "focal": "What counts most: finer zones, all its lines.",
    "drop": "Left bare, the background.",
    "keep": "Burned, whatever else would leave it bare.",
}
_MARK_HELP = "Arrows move it, shift its size; drag draws it anew; i other shape; x removes."


class Panel(NamedTuple):
    """What the panel says; ``said`` is what is wrong or under way."""

    rows: "Sequence[Row]"
    hand: str
    said: str
    wrong: bool
    command: str
    changed: bool


def letter_of(name: str) -> str:
    """Return the letter of a value; of a mark, that of its kind."""
    return LETTERS[name.partition(" ")[0]]


def lines(panel: Panel, width: int, height: int) -> list[tuple[str, Content]]:
    """Return the panel's lines, each with the value it is of, empty where it is of none."""
    marks = [row for row in panel.rows if " " in row.name]
    plain = [row for row in panel.rows if " " not in row.name]
    named = len(plain) + max(1, len(marks)) + 4 + 3 <= height
    found: list[tuple[str, Content]] = []
    for row in plain:
        if named and row.name in _PARTS:
            found.append(("", Content.styled(_PARTS[row.name], NAME)))
        found.append((row.name, _row(row, panel.hand, width)))
    if named or not marks:
        kinds = [(f"{letter_of(kind)} ", f"{kind} ") for kind in _KINDS]
        name = [("Mark ", NAME)] if width > 36 else []
        words = [part for one, other in kinds for part in ((one, NAME), (other, SOFT))]
        found.append(("", Content.assemble(*name, *words)))
    below = _below(panel, width, height, max(1, height - len(found) - bool(marks)))
    # Marks that do not fit are left out, but never the one in hand.
    room = max(1, height - len(found) - len(below))
    places = [row.name for row in marks]
    first = 0
    if panel.hand in places:
        first = max(0, min(places.index(panel.hand) - room + 1, len(marks) - room))
    found += [(row.name, _row(row, panel.hand, width)) for row in marks[first : first + room]]
    gap = height - len(found) - len(below)
    found += [("", Content(""))] * max(0, gap)
    return [*found, *(("", line) for line in below)][:height]


def _row(row: "Row", hand: str, width: int) -> Content:
    here = row.name == hand
    kind, _, at = row.name.partition(" ")
    name = f"{_CALLED.get(kind, kind)} {int(at) + 1}" if at else _CALLED.get(kind, kind)
    letter = (" ", "") if at else (letter_of(row.name), NAME)
    text = drawing.fitted(row.text, max(1, width - 14))
    return Content.assemble(
        ("▌" if here else " ", EMBER),
        letter,
        (f" {name:<9}", STRONG if here else ""),
        ("•" if row.changed else " ", EMBER),
        " ",
        (text.rstrip(), "bold reverse" if here else STRONG if row.changed else ""),
    )


def _below(panel: Panel, width: int, height: int, most: int) -> list[Content]:
    """Return what is said under the values: help on the one in hand, and what is wrong."""
    said = wrapped(panel.said, width)[:2]
    found = [Content.styled(line, "bold $error" if panel.wrong else SOFT) for line in said]
    kind, _, at = panel.hand.partition(" ")
    room = min(most, 3 if height < 26 else 5) - len(found)
    help_ = wrapped(f"{_HELP[kind]} {_MARK_HELP}" if at else _HELP[kind], width)
    if at and len(help_) > room:
        help_ = wrapped(_MARK_HELP, width)
    if len(help_) > room > 0:
        help_ = [*help_[: room - 1], drawing.fitted(" ".join(help_[room - 1 :]), width)]
    found += [Content.styled(line, SOFT) for line in help_[:room]]
    if height >= 32 and panel.changed:
        found += [Content(""), Content.styled("The same on the command line", NAME)]
        found += [Content(line) for line in wrapped(panel.command, width)[: height - 30]]
    return found
