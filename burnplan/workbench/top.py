"""The top line: the studio, the pages by name, and the clock or the day."""

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Click, Resize
from textual.message import Message
from textual.widgets import Static

from burnplan.desk.studio.studio import Studio
from burnplan.workbench import drawing
from burnplan.workbench.drawing import EMBER, SOFT, STRONG, WARN
from burnplan.workbench.gather import Now

TABS = {
    "today": "1 Bench",
    "jobs": "2 Jobs",
    "blanks": "3 Blanks",
    "clients": "4 Clients",
    "pace": "5 Pace",
    "calendar": "6 Calendar",
}


class Tab(Static):
    """The name of a page; a click goes there."""

    class Chosen(Message):
        """A page was clicked."""

        def __init__(self, page: str) -> None:
            self.page = page
            super().__init__()

    def on_click(self, _event: Click) -> None:
        """Go to the page."""
        self.post_message(self.Chosen((self.id or "").removeprefix("tab-")))


class TopLine(Horizontal):
    """The studio, the pages, and the clock or the day."""

    def compose(self) -> ComposeResult:
        """Lay them out in a line."""
        yield Static(id="studio")
        for page, name in TABS.items():
            yield Tab(name, id=f"tab-{page}")
        yield Static(id="running")

    def on_resize(self, event: Resize) -> None:
        """Name the studio where that leaves room for the clock."""
        self.query_one("#studio").display = event.size.width >= drawing.ROOMY

    def mark(self, here: str) -> None:
        """Show which page is shown."""
        for tab in self.query(Tab):
            tab.set_class(tab.id == f"tab-{here}", "here")

    def give(self, now: Now) -> None:
        """Show whose studio it is."""
        drawing.put(self.query_one("#studio", Static), Content(now.own.name), layout=False)

    def tick(self, now: Now, studio: Studio, *, changing: bool) -> None:
        """Show the clock as it stands, else the day; and whether a change is under way."""
        busy, at = ("… " if changing else "", EMBER), studio.now()
        if now.clock is None:
            local = studio.local(at)
            day = f"{local:%a} {local.day} {local:%b}  {local:%H:%M}"
            shown = Content.assemble(busy, (day, SOFT))
        else:
            paused = now.clock.state == "paused"
            shown = Content.assemble(
                busy,
                ("‖ " if paused else "● ", WARN if paused else EMBER),
                (drawing.on_clock(now.worked(at)), STRONG),
                (f" {now.clock.code}", SOFT),
            )
        drawing.put(self.query_one("#running", Static), shown, layout=False)
