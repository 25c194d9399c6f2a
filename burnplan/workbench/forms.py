"""Short questions over the page: a form, and a choice from a list."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.suggester import Suggester
from textual.widgets import Input, Static

from burnplan.errors import BadInput, BurnplanError
from burnplan.money import parse_number
from burnplan.workbench.keyline import Key, KeyLine
from burnplan.workbench.listing import Lines, Rows
from burnplan.workbench.threads import aside

if TYPE_CHECKING:
    from burnplan.workbench.doing import Doing

Word = TypeVar("Word", bound=str)


Known = tuple[str, ...] | Callable[[], tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Field:
    """One question of a form; ``known`` are answers it completes while typing, or look them up."""

    name: str
    label: str
    hint: str = ""
    value: str = ""
    known: Known = ()


Answers = dict[str, str]


class Completing(Suggester):
    """Completes an answer from those known; looked up, on a thread, once something is typed."""

    def __init__(self, known: Known) -> None:
        super().__init__(use_cache=False, case_sensitive=False)
        self._known = known

    async def get_suggestion(self, value: str) -> str | None:
        """Return the first answer that begins so."""
        if callable(self._known):
            try:
                self._known = await aside(self._known)
            except BurnplanError:
                return None  # it is a help, no more
        return next((one for one in self._known if one.casefold().startswith(value)), None)


class Form(ModalScreen[Any]):
    """A few questions; what they are for is done when they are sent.

    Parameters
    ----------
    title : str
    fields : sequence of Field
        None where only yes or no is asked.
    do : callable
        Given the answers, on a thread; what it returns closes the form. An
        error it raises is shown as a line, and the answers stay.
    send : str
        What the button says.
    preview : callable, optional
        Given the answers, on a thread, after each change; returns what they come to.
    warning : str
        What to mind before answering.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "cancel", "Cancel"),
        ("ctrl+s,enter", "send", "Send"),
        ("up", "app.focus_previous", ""),
        ("down", "app.focus_next", ""),
    ]
    # A paper is as wide at every width: no style is worked out again for it.
    HORIZONTAL_BREAKPOINTS = []  # noqa: RUF012  an instance's in Screen

    def __init__(
        self,
        title: str,
        fields: Sequence[Field],
        do: Callable[[Answers], Any],
        *,
        send: str,
        preview: Callable[[Answers], Content] | None = None,
        warning: str = "",
    ) -> None:
        super().__init__()
        self.heading, self.fields, self.do, self.send = title, tuple(fields), do, send
        self.preview, self.warning, self._sending = preview, warning, False

    def compose(self) -> ComposeResult:
        """Lay out the questions, a line for what is wrong, and the keys."""
        # Few parts: a form is to be there at once, and every part takes its time.
        with Vertical(classes="paper"):
            yield Static(Content(self.heading), classes="heading")
            if self.warning:
                yield Static(Content(self.warning), classes="warning")
            with VerticalScroll(classes="fields", can_focus=False):
                yield Static(Content("\n".join(field.label for field in self.fields)))
                with Vertical():
                    for field in self.fields:
                        yield Input(
                            field.value,
                            placeholder=field.hint,
                            id=field.name,
                            suggester=Completing(field.known) if field.known else None,
                        )
            if self.preview is not None:
                yield Static(id="preview")
            yield Static(id="wrong")
            cancel = Key("esc", "Cancel", "cancel")
            if self.fields:
                yield KeyLine(
                    Key("^s", self.send, "send"), cancel, Key("↵", "next", "app.focus_next")
                )
            else:
                yield KeyLine(Key("↵", self.send, "send"), cancel)

    def on_mount(self) -> None:
        """Begin with the first question, if there is any."""
        if self.fields:
            self.query(Input).first().focus()

    def answers(self) -> Answers:
        """Return what is typed in, without spaces around it."""
        return {field.name: self.query_one(f"#{field.name}", Input).value.strip()
                for field in self.fields}  # fmt: skip

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        if event.input.id == self.fields[-1].name:
            self.action_send()
        else:
            self.focus_next()

    @on(Input.Changed)
    def _changed(self) -> None:
        if self.preview is not None:
            self._preview()

    @work(exclusive=True, group="preview")
    async def _preview(self) -> None:
        if self.preview is None:
            return
        try:
            shown = await aside(self.preview, self.answers())
        except BurnplanError as error:
            shown = Content.styled(self._worded(error), "$warning")
        self.query_one("#preview", Static).update(shown)

    def _worded(self, error: BurnplanError) -> str:
        return cast("Doing", self.app).worded(error)

    @on(KeyLine.Pressed)
    async def _key_clicked(self, event: KeyLine.Pressed) -> None:
        event.stop()
        await self.run_action(event.action)

    def action_send(self) -> None:
        """Do what the form is for."""
        self._send()

    def action_cancel(self) -> None:
        """Close the form; nothing is done."""
        self.dismiss(None)

    # A second Enter while the first is under way must not do it twice.
    @work(group="send")
    async def _send(self) -> None:
        if self._sending:
            return
        self._sending = True
        try:
            done = await aside(self.do, self.answers())
        except BurnplanError as error:
            self.query_one("#wrong", Static).update(Content(self._worded(error)))
            self._sending = False
        else:
            self.dismiss(done)


class Choice(ModalScreen[str | None]):
    """Choose one of some things; gives its key."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "Cancel")]
    HORIZONTAL_BREAKPOINTS = []  # noqa: RUF012  an instance's in Screen

    def __init__(self, title: str, options: Sequence[tuple[str, Content]]) -> None:
        super().__init__()
        self.heading, self.choices = title, options

    def compose(self) -> ComposeResult:
        """Lay out the list."""
        with Vertical(classes="paper"):
            yield Static(Content(self.heading), classes="heading")
            yield Lines()
            yield KeyLine(Key("↵", "Choose", "pick"), Key("esc", "Cancel", "dismiss(None)"))

    def on_mount(self) -> None:
        """Fill the list."""
        lines = self.query_one(Lines)
        lines.styles.height = min(len(self.choices), 14)
        lines.give(Rows([key for key, _ in self.choices], lambda row: self.choices[row][1]))

    @on(KeyLine.Pressed)
    async def _key_clicked(self, event: KeyLine.Pressed) -> None:
        event.stop()
        await self.run_action(event.action)

    def action_pick(self) -> None:
        """Choose the row the cursor is on."""
        self.query_one(Lines).action_choose()

    @on(Lines.Chosen)
    def _chosen(self, event: Lines.Chosen) -> None:
        event.stop()
        self.dismiss(event.key)


def whole_number(text: str, what: str, least: int, most: int) -> int:
    """Return the whole number typed in.

    Raises
    ------
    BadInput
        If it is none, or out of bounds.

    Examples
    --------
    >>> whole_number(" 6 ", "zones", 3, 9)
    6
    """
    value = parse_number(text, what, least=least, most=most)
    if value != int(value):
        raise BadInput(f"'{text}' is not a whole number", f"Give one for {what}")
    return int(value)


def chosen_of(words: Sequence[Word], text: str, what: str) -> Word:
    """Return the one of some words that was typed in, or begun.

    Raises
    ------
    BadInput
        If it is none of them.

    Examples
    --------
    >>> chosen_of(("deposit", "payment"), "Dep", "kind of payment")
    'deposit'
    """
    found = [word for word in words if text and word.startswith(text.lower())]
    if len(found) != 1:
        raise BadInput(f"'{text}' is no {what}", f"Give {', '.join(words)}")
    return found[0]
