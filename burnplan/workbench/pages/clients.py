"""The clients."""

from textual.app import ComposeResult
from textual.content import Content

from burnplan.desk.jobs.clients import ClientView
from burnplan.workbench import drawing, gather
from burnplan.workbench.drawing import STRONG, Cell, Column
from burnplan.workbench.listing import Listing, Rows
from burnplan.workbench.pages.page import WorkbenchPage

_COLUMNS = (
    Column("client", 16, grow=2),
    Column("e-mail", 20, grow=2),
    Column("phone", 14, grow=1, needs=90),
    Column("commissions", 11, right=True),
)


class ClientsPage(WorkbenchPage[list[ClientView]]):
    """The clients."""

    MAIN = "#clients-list"

    def compose(self) -> ComposeResult:
        """Lay out the list."""
        none = "No clients yet. They are added with their first commission."
        yield Listing("Clients", none, id="clients-list")

    def look_up(self) -> list[ClientView]:
        """Return the clients."""
        return gather.people(self.studio)

    def give(self, now: gather.Now, found: list[ClientView]) -> None:  # noqa: ARG002
        """Show the clients."""

        def rows(width: int) -> Rows:
            sizes = drawing.widths(_COLUMNS, width)

            def draw(row: int) -> Content:
                one = found[row]
                cells: list[Cell] = [
                    (one.name, STRONG),
                    (one.email or "–", ""),
                    (one.phone or "–", ""),
                    (str(one.commissions), ""),
                ]
                return drawing.row(_COLUMNS, sizes, cells)

            keys = [one.name for one in found]
            return Rows(keys, draw, heads=drawing.headings(_COLUMNS, sizes))

        self.listing.give(rows)
