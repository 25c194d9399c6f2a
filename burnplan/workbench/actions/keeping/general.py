"""Undo, the keys, finding in a list, more facts, the light, leaving."""

from functools import partial
from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.keeping import undo as desk
from burnplan.workbench import drawing
from burnplan.workbench.actions.action import Action, on_job
from burnplan.workbench.forms import Choice, Form
from burnplan.workbench.keyline import key_words
from burnplan.workbench.words import in_words

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench


def undo(bench: "Workbench") -> None:
    """Take back the last thing that was done by who sits here."""
    _take(bench, redo=False)


def redo(bench: "Workbench") -> None:
    """Do again what was undone last."""
    _take(bench, redo=True)


def _take(bench: "Workbench", *, redo: bool) -> None:
    """Take the last thing back, or do it again; ask where that is likely not what is meant."""
    take, what = (desk.redo_last, "Did again") if redo else (desk.undo_last, "Undid")
    shown = bench.meant if bench.page_name in ("job", "burning") else None

    def run() -> tuple[desk.Happening, str]:
        found = desk.last(bench.studio, redo=redo)
        doubt = _doubt(bench, found, shown) if found is not None else ""
        if found is not None and doubt:
            return found, doubt
        return take(bench.studio, agreed=found.number if found else None), ""

    def then(done: tuple[desk.Happening, str]) -> None:
        found, doubt = done
        if not doubt:
            _say(bench, what, found)
            return
        bench.ask(
            Form(
                "Do this again?" if redo else "Take this back?",
                [],
                lambda _: take(bench.studio, agreed=found.number),
                send="Do it again" if redo else "Take it back",
                warning=f"{found.summary}: {doubt}",
            ),
            lambda past: _say(bench, what, past),
        )

    bench.do(run, then)


def _doubt(bench: "Workbench", found: desk.Happening, shown: str | None) -> str:
    """Return why somebody may not mean the last thing done; nothing where they will."""
    if found.at < bench.began:
        return f"done {bench.studio.local(found.at):%d %b %H:%M}, before this sitting"
    if shown is not None and found.job not in (None, shown):
        return f"done to {found.job}, not to {shown} that is shown"
    return ""


def _say(bench: "Workbench", what: str, past: desk.Happening) -> None:
    """Say what was taken back, and what else was last, where somebody else did that."""
    beside = [in_words(said) for said in bench.studio.notices]
    bench.studio.notices.clear()
    bench.say(". ".join([f"{what}: {past.summary}", *beside]))


def _find(bench: "Workbench") -> None:
    bench.page.listing.find()


def _leave(bench: "Workbench") -> None:
    if bench.page.may_go(bench.exit):
        bench.exit()


def _has_list(bench: "Workbench") -> bool:
    return bench.page_name not in ("burning", "laying")


def _has_more(bench: "Workbench") -> bool:
    return on_job(bench) and bench.job_page.has_more_facts


def _keys(bench: "Workbench") -> None:
    """Show every key that works on this page; choosing one presses it."""
    from burnplan.workbench.actions import ALL  # of which this is one

    own = [(one.name, one.key, one.words, one.about) for one in bench.usable()]
    frame = [
        ("page 1", f"1-{len(bench.tabs)}", "The pages", " ".join(bench.tabs.values())),
        ("back", "escape", "Back", "Or stop what takes long"),
        ("all", "ctrl+p", "All there is to do", "And jobs, clients and blanks, by their names"),
    ]
    here = [one for one in frame if one[0] != "back" or bench.can_go_back]

    def chosen(name: str) -> None:
        if name in ALL:
            bench.action_act(name)
        elif name == "all":
            bench.action_command_palette()
        else:
            bench.call_later(bench.action_back if name == "back" else
                             partial(bench.action_page, "today"))  # fmt: skip

    lines = [
        (name, Content.assemble((drawing.fitted(key_words(key), 10), drawing.NAME),
                                (words, drawing.STRONG), (f"  {about}", drawing.SOFT)))
        for name, key, words, about in (*own, *here)
    ]  # fmt: skip
    bench.choose(Choice("The keys of this page", lines, wide=True, hang=10), chosen)


ACTIONS = (
    Action("undo", "Undo", "Take back the last thing you did", undo, key="u", short="Undo"),
    Action("redo", "Redo", "Do again what you undid last", redo, key="U"),
    Action("find", "Find in this list", "Its rows that have some letters", _find, _has_list,
           key="slash"),
    Action("keys", "The keys of this page", "Every key that works here", _keys,
           key="question_mark,f1", short="Keys"),
    Action("facts", "More facts", "Turn what is beside the checklist: money, sessions",
           lambda bench: bench.job_page.turn_facts(), _has_more, key="f", short="More", page="job"),
    Action("light", "Light or dark", "Change between lamplight and daylight",
           lambda bench: bench.turn_light(), key="l"),
    Action("leave", "Quit", "Leave the workbench; a running clock runs on",
           _leave, key="ctrl+q"),
)  # fmt: skip
