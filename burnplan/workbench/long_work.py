"""Long work: one at a time, with its progress in a line; escape stops what was asked for."""

from contextlib import suppress

from rich.cells import cell_len
from textual.content import Content
from textual.css.query import NoMatches
from textual.message import Message
from textual.widgets import Static

from burnplan.workbench import drawing
from burnplan.workbench.drawing import EMBER, SOFT
from burnplan.workbench.threads import Stopper


class LongWork(Static):
    """The line that shows it, there while it runs."""

    class Changed(Message):
        """Long work began, or came to its end."""

    stopper: Stopper | None = None

    @property
    def asked_for(self) -> bool:
        """Whether the artist waits for what runs."""
        return self.stopper is not None and self.stopper.asked_for

    def stop(self, *, asked_for: bool) -> None:
        """Stop what runs, if it was asked for, or if it was not."""
        if self.stopper is not None and self.stopper.asked_for == asked_for:
            self.stopper.stop()

    def begin(self, *, asked_for: bool) -> Stopper:
        """Show that long work runs; what ran before is stopped."""
        if self.stopper is not None:
            self.stopper.stop()

        def tell(share: float, label: str) -> None:
            words = f"{label}  (esc stops)" if asked_for else label
            self.app.call_from_thread(self._tell, share, words)

        self.stopper = Stopper(tell, asked_for=asked_for)
        self.add_class("on")
        self.post_message(self.Changed())
        return self.stopper

    def _tell(self, share: float, label: str) -> None:
        with suppress(NoMatches):  # the screen may be taken down meanwhile
            full, rest = drawing.bar(share, max(0, self.content_size.width - cell_len(label) - 8))
            done = (f"{100 * share:4.0f} %", SOFT)
            shown = Content.assemble((label, EMBER), "  ", full, rest, done)
            drawing.put(self, shown, layout=False)

    def end(self, stopper: Stopper) -> None:
        """Take the line away, unless other work runs by now."""
        if self.stopper is stopper:
            self.stopper = None
            self.remove_class("on")
            self.post_message(self.Changed())
