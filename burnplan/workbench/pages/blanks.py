"""The blanks in stock and held, with what is known of the one the cursor is on."""

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content

from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import faces
from burnplan.desk.wood.blanks import BlankView
from burnplan.unbroken import wrapped
from burnplan.units import format_length, format_size
from burnplan.workbench import drawing, gather
from burnplan.workbench.actions import bindings
from burnplan.workbench.drawing import BAD, GOOD, SOFT, STRONG, WARN, Cell, Column, money
from burnplan.workbench.facts import Facts
from burnplan.workbench.holding import Down
from burnplan.workbench.listing import Lines, Listing, columned
from burnplan.workbench.pages.page import WorkbenchPage

_COLUMNS = (
    Column("blank", 6),
    Column("wood", 10, grow=1),
    Column("state", 14),  # before what may be cut where there is little room: it may be blocked
    Column("size", 18, grow=3),
    Column("grit", 5, right=True, needs=64),
    Column("thick", 7, right=True, needs=84),
    Column("cost", 9, right=True, needs=96),
    Column("place", 8, grow=1, needs=110),
)


class BlanksPage(WorkbenchPage[list[BlankView]]):
    """The blanks."""

    MAIN = "#blanks-list"
    BINDINGS: ClassVar[list[BindingType]] = bindings("blanks")

    def __init__(self, studio: Studio, name: str) -> None:
        super().__init__(studio, name)
        self._now: gather.Now | None = None
        self._blanks: dict[str, BlankView] = {}

    def compose(self) -> ComposeResult:
        """Lay out the list and the blank the cursor is on."""
        with Down(classes="sides"):
            yield Listing("Blanks", "No blanks in stock. Press b to add one.", id="blanks-list")
            yield Facts(id="blank", classes="part detail")

    @property
    def blank(self) -> BlankView | None:
        """The blank the cursor is on."""
        return self._blanks.get(self.listing.key or "")

    def look_up(self) -> list[BlankView]:
        """Return the blanks in stock and held."""
        return gather.stock(self.studio)

    def give(self, now: gather.Now, found: list[BlankView]) -> None:
        """Show the blanks."""
        self._now, self._blanks = now, {blank.code: blank for blank in found}
        self.listing.give(
            columned(_COLUMNS, found, lambda one: one.code, lambda one: _cells(one, now))
        )
        self._show_one()

    def on_lines_moved(self, _: Lines.Moved) -> None:
        """Show the blank the cursor is on."""
        self._show_one()

    def _show_one(self) -> None:
        one, now, panel = self.blank, self._now, self.query_one(Facts)
        panel.display = one is not None
        if one is not None and now is not None:
            panel.border_title = one.code
            job = self.bench.open_jobs.seen(one.held_for or "")
            held = f"{one.held_for or ''} {job.title if job else ''}".strip()
            panel.give(
                lambda width: Content("\n").join(_facts(one, held, now, max(20, width - 10)))
            )


def _cells(one: BlankView, now: gather.Now) -> list[Cell]:
    blocked = any(hazard.blocks for hazard in one.hazards)
    state = "blocked" if blocked and one.state in ("held", "in stock") else one.state
    return [
        (one.code, SOFT),
        (one.species_name, STRONG),
        (f"{state} {one.held_for or ''}", BAD if blocked else SOFT if one.held_for else GOOD),
        (format_size(one.shape(), now.own.units), ""),
        (str(one.grit or "–"), ""),
        (_thickness(one, now), ""),
        (money(now, one.cost) if one.cost else "", ""),
        (one.location, SOFT),
    ]


def _facts(one: BlankView, held: str, now: gather.Now, room: int) -> Iterator[Content]:
    """Yield what is known of a blank, name and value; what is not known is left out."""
    blocked = "; ".join(h.in_words() for h in one.hazards if h.blocks)
    caution = "; ".join(h.in_words() for h in one.hazards if not h.blocks)
    known: list[tuple[str, Cell]] = [
        ("wood", (one.species_name, STRONG)),
        ("size", (format_size(one.shape(), now.own.units), "")),
        ("thick", (_thickness(one, now), "")),
        ("held for", (held, "")),
        ("moisture", (f"{one.moisture:g} %" if one.moisture is not None else "", "")),
        ("blocked", (blocked, BAD)),
        ("caution", (caution, WARN)),
        ("checking", (one.checking, WARN)),
        ("to do", ("; ".join(one.sanding_left) or "ready to transfer", "")),
        ("bare wood", (f"L* {one.bare:.0f}, read from its photo" if one.bare else "", "")),
        ("keep off", ("; ".join(faces.in_words(one.marks, now.own.units)), "")),
        ("place", (one.location, "")),
        ("note", (one.note, "")),
    ]
    for name, (text, style) in known:
        for n, line in enumerate(wrapped(text, room)):
            yield Content.assemble((drawing.fitted("" if n else name, 10), SOFT), (line, style))


def _thickness(one: BlankView, now: gather.Now) -> str:
    return format_length(one.thickness_mm, now.own.units) if one.thickness_mm else ""
