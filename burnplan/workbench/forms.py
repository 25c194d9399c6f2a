"""Short questions over the page: a form, and a choice from a list."""

import asyncio
import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import ModalScreen
from textual.suggester import Suggester
from textual.widget import Widget
from textual.widgets import Input, Static

from burnplan.errors import BadInput, BurnplanError
from burnplan.money import parse_number
from burnplan.workbench.facts import Facts
from burnplan.workbench.holding import Down, Holding, Rolling
from burnplan.workbench.keyline import Key, KeyLine
from burnplan.workbench.listing import Finding, Lines, Rows
from burnplan.workbench.threads import aside

if TYPE_CHECKING:
    from rich.console import RenderableType

    from burnplan.workbench.doing import Doing

Word = TypeVar("Word", bound=str)
Answer = TypeVar("Answer")


class Files:
    """Answers to be completed from the folders of the machine, as a shell does.

    ``folders`` where a folder is wanted, and a file would not do.
    """

    def __init__(self, *, folders: bool = False) -> None:
        self.folders = folders


Known = tuple[str, ...] | Callable[[], tuple[str, ...]] | Files

# Cells of what is read, and of the frame and the bar beside it.
_READING, _PAPER, _FRAME = 110, 74, 8
# Rows of a paper's frame.
_EDGES = 2
# What is said of a question that has no answer.
_EMPTY = "An empty answer"
# More choices than this are not taken in at a glance.
_MANY = 9
# Rows of questions seen at once: they scroll where there are more, or less room. Where that
# leaves fewer than the second, the job in sight and the empty rows give way.
_MOST, _FEWEST = 12, 3


@dataclass(frozen=True, slots=True)
class Field:
    """One question of a form; ``known`` are answers it completes while typing, or look them up."""

    name: str
    label: str
    hint: str = ""
    value: str = ""
    known: Known = ()


Answers = dict[str, str]


def _in_sight(app: object, heading: str) -> Iterator[Facts]:
    """Yield the job that a heading names: its code alone says little."""
    if (job := cast("Doing", app).in_sight(heading)) is not None:
        yield Facts(job, classes="in-sight")


def _room_for(part: Widget) -> int:
    """Return how many rows a part of a paper can have, as the others are laid out."""
    others = [one for one in part.siblings if one.display]
    between = sum(one.styles.margin.height for one in (part, *others))
    taken = sum(one.outer_size.height for one in others)
    return int(part.app.size.height * 0.94) - _EDGES - between - taken


def _at_most(part: Widget, rows: int) -> bool:
    """Let a part have so many rows, or what room there is; return whether it had so already."""
    most = max(1, min(rows, _room_for(part)))
    height = part.styles.max_height
    if height is not None and height.value == most:
        return True
    part.styles.max_height = most  # lays all out anew
    return False


class Completing(Suggester):
    """Completes an answer from those known; looked up, on a thread, once something is typed."""

    def __init__(self, known: Known) -> None:
        # In paths small and capital letters are not the same.
        super().__init__(use_cache=False, case_sensitive=isinstance(known, Files))
        self._known = known

    async def get_suggestion(self, value: str) -> str | None:
        """Return the first answer that begins so."""
        if isinstance(self._known, Files):
            return await asyncio.to_thread(_path_like, value, self._known.folders)
        if callable(self._known):
            try:
                self._known = await aside(self._known)
            except BurnplanError:
                return None  # it is a help, no more
        return next((one for one in self._known if one.casefold().startswith(value)), None)


def _path_like(text: str, folders: bool) -> str | None:
    """Return the first path that begins so, a folder with its slash; hidden ones only if meant."""
    folder, _, begun = text.rpartition("/")
    try:
        where = Path(f"{folder}/" if "/" in text else ".").expanduser()
        found = sorted(one for one in where.iterdir() if one.name.startswith(begun))
    except (OSError, RuntimeError, ValueError):
        return None  # it is a help, no more
    found = [one for one in found if not folders or one.is_dir()]
    shown = [one for one in found if begun or not one.name.startswith(".")]
    if not shown:
        return None
    slash = "/" if shown[0].is_dir() else ""
    return f"{folder}/{shown[0].name}{slash}" if "/" in text else f"{shown[0].name}{slash}"


class _Questions(Rolling, can_focus=False, inherit_bindings=False):
    """Questions that scroll with the cursor: the arrows go from one to the next."""


class Question(ModalScreen[Answer], Holding):
    """What lies over the page, with its own keys at its foot."""

    # A paper is as wide at every width: no style is worked out again for it.
    HORIZONTAL_BREAKPOINTS = []  # noqa: RUF012  an instance's in Screen

    @on(KeyLine.Pressed)
    async def _key_clicked(self, event: KeyLine.Pressed) -> None:
        event.stop()
        await self.run_action(event.action)


class Form(Question[Any]):
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
        Binding("tab", "complete", "", priority=True),
        ("up", "app.focus_previous", ""),
        ("down", "app.focus_next", ""),
    ]

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
        self._doubted = False

    def compose(self) -> ComposeResult:
        """Lay out the questions, a line for what is wrong, and the keys."""
        # Few parts: a form is to be there at once, and every part takes its time.
        with Down(classes="paper"):
            yield Static(Content(self.heading), classes="heading")
            yield from _in_sight(self.app, self.heading)
            if self.warning:
                yield Static(Content(self.warning), classes="warning")
            with _Questions(classes="fields"):
                yield Static(Content("\n".join(field.label for field in self.fields)))
                with Down():
                    for field in self.fields:
                        yield Input(
                            field.value,
                            # In brackets: not to be taken for an answer, whatever the colours.
                            placeholder=f"({field.hint})" if field.hint else "",
                            id=field.name,
                            suggester=Completing(field.known) if field.known else None,
                        )
            if self.preview is not None:
                yield Static(id="preview")
            yield Static(id="wrong")
            cancel = Key("esc", "Cancel", "cancel")
            if self.fields:
                known = any(field.known for field in self.fields)
                yield KeyLine(
                    Key("^s", self.send, "send"),
                    *([Key("tab", "complete", "complete")] if known else []),
                    cancel,
                    Key("↵", "next", "app.focus_next"),
                )
            else:
                yield KeyLine(Key("↵", self.send, "send"), cancel)

    def on_mount(self) -> None:
        """Begin with the first question, if there is any."""
        if self.fields:
            self.query(Input).first().focus()
        self.screen_layout_refresh_signal.subscribe(self, self._fit, immediate=True)

    def on_descendant_focus(self) -> None:
        """Keep the question that is answered in sight."""
        self.call_after_refresh(self._fit)

    def on_resize(self) -> None:
        """See anew how much room there is."""
        self.remove_class("low")

    def _fit(self, *_laid_out: object) -> None:
        """Let the questions scroll where else what they come to, or the keys, would be cut off.

        So after each time that all is laid out: only then is known what has how much room.
        """
        fields = self.query_one(".fields")
        if _room_for(fields) < _FEWEST and not self.has_class("low"):
            self.add_class("low")  # lays all out anew, without what can be done without
        elif _at_most(fields, _MOST) and self.focused is not None:
            fields.scroll_to_widget(self.focused, animate=False, immediate=True)

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
        if self._doubted:
            self._doubted = False
            self._say("")
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
        return cast("Doing", self.app).worded(error).replace("''", _EMPTY)

    def action_send(self) -> None:
        """Do what the form is for."""
        self._send()

    def action_cancel(self) -> None:
        """Close the form; nothing is done. What took a while to type goes at a second press."""
        answers = self.answers()
        typed = sum(answers[field.name] != field.value for field in self.fields)
        if typed > 1 and not self._doubted:
            self._doubted = True
            self._say("esc once more lets go of what you typed")
        else:
            self.dismiss(None)

    def action_complete(self) -> None:
        """Complete a path, as a shell does, or any answer; else go to the next question."""
        at = self.focused
        if isinstance(at, Input):
            before = at.value
            at.action_end()
            at.action_cursor_right()  # takes what is proposed
            known = next(field.known for field in self.fields if field.name == at.id)
            if at.value != before and isinstance(known, Files):
                return
        self.focus_next()

    def _say(self, words: str) -> None:
        self.query_one("#wrong", Static).update(Content(words))

    def _go_to_wrong(self, words: str) -> None:
        """Put the cursor where what is wrong was typed, or is missing."""
        answers, said = self.answers(), words.lower()
        wrong = [field for field in self.fields if answers[field.name] and (
                 f"'{answers[field.name]}'" in words)]  # fmt: skip
        missing = [
            field
            for field in self.fields
            if not answers[field.name]
            and (_EMPTY in words or field.label.lower() in said.partition(". ")[0])
        ]
        for field in (wrong or missing)[:1]:
            self.query_one(f"#{field.name}", Input).focus()

    # A second Enter while the first is under way must not do it twice.
    @work(group="send")
    async def _send(self) -> None:
        if self._sending:
            return
        self._sending = True
        try:
            done = await aside(self.do, self.answers())
        except BurnplanError as error:
            self._say(self._worded(error))
            self._go_to_wrong(self._worded(error))
            self._sending = False
        else:
            self.dismiss(done)


def _hung(shown: Content, hang: int, width: int) -> Content:
    """Return a choice for a width; what is too long goes on below, so far from the left."""
    if shown.cell_length <= width and "\n" not in shown.plain:
        return shown
    lines = shown[hang:].wrap(width - hang)
    return shown[:hang] + Content("\n" + " " * hang).join(lines)


class Choice(Question[str | None], Finding):
    """Choose one of some things; gives its key.

    ``hang`` are the cells below whose first ones nothing of a long choice goes on.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "show_all", "All"),
        ("escape", "dismiss(None)", "Cancel"),
        ("slash", "find", "Find"),
    ]

    def __init__(
        self,
        title: str,
        options: Sequence[tuple[str, Content]],
        *,
        wide: bool = False,
        hang: int = 0,
    ) -> None:
        super().__init__()
        self.heading, self.choices, self.wide, self.hang = title, options, wide, hang
        self._tall = 0  # rows that all of them take

    def compose(self) -> ComposeResult:
        """Lay out the list."""
        with Down(classes="paper wide" if self.wide else "paper"):
            yield Static(Content(self.heading), classes="heading")
            yield from _in_sight(self.app, self.heading)
            yield Lines()
            yield KeyLine(
                Key("↵", "Choose", "pick"),
                *([Key("/", "Find", "find")] if len(self.choices) > _MANY else []),
                Key("esc", "Cancel", "dismiss(None)"),
            )

    def on_mount(self) -> None:
        """Fill the list."""
        self.lay_out()
        self.screen_layout_refresh_signal.subscribe(self, self._fit, immediate=True)

    def on_resize(self) -> None:
        """Lay the list out anew for another width."""
        self.lay_out()

    def lay_out(self) -> None:
        """Give the list what is wanted; what is too wide goes on below."""
        width = min(_READING if self.wide else _PAPER, int(self.app.size.width * 0.96)) - _FRAME
        found: list[tuple[str | None, Content]] = [
            one for one in self.choices if self.wanted in one[1].plain.casefold()
        ]
        drawn = [_hung(shown, self.hang, width) for _, shown in found or [(None, self.has_none)]]
        tall = [one.plain.count("\n") + 1 for one in drawn]
        if not self.wanted:  # its room stays while it is searched
            self._tall = sum(tall)
        self.lines.give(Rows([key for key, _ in found] or [None], drawn.__getitem__, tall))
        self._fit()

    def _fit(self, *_laid_out: object) -> None:
        """Let the list scroll where else the keys would be cut off."""
        lines = self.lines
        most = max(1, min(self._tall, _room_for(lines)))
        if lines.styles.height is None or lines.styles.height.value != most:
            lines.styles.height = most  # lays all out anew, and comes here again

    def action_find(self) -> None:
        """Ask which of them are wanted."""
        self.find()

    def action_pick(self) -> None:
        """Choose the row the cursor is on."""
        self.lines.action_choose()

    @on(Lines.Chosen)
    def _chosen(self, event: Lines.Chosen) -> None:
        event.stop()
        self.dismiss(event.key)


class Reading(Question[None]):
    """Something to read, as the command line prints it."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape,enter,q", "dismiss(None)", "Back")]

    def __init__(self, title: str, what: "RenderableType") -> None:
        super().__init__()
        self.heading, self.what = title, what

    def compose(self) -> ComposeResult:
        """Lay out what there is to read, and the keys."""
        with Down(classes="paper wide"):
            yield Static(Content(self.heading), classes="heading")
            with Rolling(classes="reading"):
                yield Static(id="read")
            yield KeyLine(Key("↑ ↓", "scroll", ""), Key("esc", "Back", "dismiss(None)"))

    def on_mount(self) -> None:
        """Print it at the width there is, and let the arrow keys scroll it."""
        self.query_one(Rolling).focus()
        self.on_resize()
        self.screen_layout_refresh_signal.subscribe(self, self._fit, immediate=True)

    def on_resize(self) -> None:
        """Print it anew for another width."""
        room = min(_READING, int(self.app.size.width * 0.96)) - _FRAME
        self.query_one("#read", Static).update(printed(self.what, room))

    def _fit(self, *_laid_out: object) -> None:
        """Let it scroll where else the keys would be cut off."""
        _at_most(self.query_one(Rolling), self.app.size.height)


def printed(what: "RenderableType", width: int) -> Content:
    """Return what the command line would print, in the colour of the page it stands on."""
    from rich.console import Console
    from rich.text import Text
    from rich.theme import Theme

    from burnplan.show.console import THEME, ShownConsole

    # Nothing is faint, and nothing is told by colour alone.
    plain = Theme({**THEME.styles, "soft": "none", "head": "none"})
    paper: Console = ShownConsole(
        file=io.StringIO(), theme=plain, width=width, color_system="standard", no_color=True,
        force_terminal=True, highlight=False, emoji=False, legacy_windows=False,
    )  # fmt: skip
    with paper.capture() as caught:
        paper.print(what)
    return Content.from_rich_text(Text.from_ansi(caught.get().rstrip()))


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
    begun = [word for word in words if text and word.startswith(text.lower())]
    found = [word for word in begun if word == text.lower()] or begun
    if len(found) != 1:
        raise BadInput(f"'{text}' is no {what}", f"Give {', '.join(words)}")
    return found[0]
