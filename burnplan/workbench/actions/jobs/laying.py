"""The laying-out table's keys: a value is taken in hand by its letter, and arrows change it."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from burnplan.desk.jobs import references, unkept
from burnplan.workbench.actions.action import Action, of_job
from burnplan.workbench.actions.jobs.reference import photo_at
from burnplan.workbench.forms import Answers, Field, Files, Form
from burnplan.workbench.laying_panel import LETTERS

if TYPE_CHECKING:
    from pathlib import Path

    from burnplan.desk.jobs.laying import InHand
    from burnplan.desk.jobs.references import ReferenceView
    from burnplan.desk.jobs.unkept import Unkept
    from burnplan.workbench.app import Workbench
    from burnplan.workbench.laying import Table
    from burnplan.workbench.threads import Stopper

_SWITCHES = ("mirror", "whole", "levels")
_MARKS = ("subject", "focal", "drop", "keep")
# Where a mark begins: in the middle of the photo.
_BEGINS = (0.3, 0.3, 0.7, 0.7)


def lay_out(bench: "Workbench") -> None:
    """Lay the photo of the job shown out; ask for it, where it has none."""
    if bench.job is not None and bench.job.reference is not None:
        _lay_out(bench, None)
        return
    code = bench.job_page.code

    def ask(before: "Unkept | None") -> None:
        path = str(before.new) if before is not None and before.new is not None else ""
        field = Field("photo", "Photo", "the file's path; paste or drop it here", path, Files())
        form = Form(f"Photo for {code}", [field],
                    lambda answers: photo_at(answers["photo"]), send="Lay it out")  # fmt: skip
        bench.ask(form, partial(_lay_out, bench))

    bench.find(lambda: unkept.of(bench.studio, code), ask)


def _lay_out(bench: "Workbench", new: "Path | None") -> None:
    code = bench.job_page.code

    def run(stopper: "Stopper") -> "tuple[InHand, Unkept | None]":
        from burnplan.desk.jobs import laying  # brings numpy

        return laying.take(bench.studio, code, new, stopper), unkept.of(bench.studio, code)

    def then(found: "tuple[InHand, Unkept | None]") -> None:
        if bench.page_name == "job" and bench.job_page.code == code:
            bench.open_laying(found[0], new, found[1])

    bench.long(run, then)


def keep(bench: "Workbench", go: Callable[[], Any] | None = None) -> None:
    """Plan the work from the photo as it lies, and leave the table."""
    page = bench.laying_page
    table, new = page.table, page.new
    if table is None:
        return

    def run(stopper: "Stopper") -> "ReferenceView":
        return _kept(bench, table, new, stopper)

    def then(_view: "ReferenceView") -> None:
        page.clear()
        bench.say("The work is planned as the photo lies")
        if go is not None:
            bench.call_later(go)
        elif bench.page_name == "laying":
            bench.open_job(table.taken.code)

    bench.long(run, then, writes=True)


def _kept(
    bench: "Workbench", table: "Table", new: "Path | None", stopper: "Stopper"
) -> "ReferenceView":
    """Put it on record, as the commands do with the same values."""
    from burnplan.desk.jobs import laying  # brings numpy
    from burnplan.desk.jobs.layouts import change_between

    taken, now = table.taken, table.now
    if new is not None:
        return references.add(
            bench.studio, taken.code, new, zones=now.zones, wanted=table.change,
            on_progress=stopper,
        )[0]  # fmt: skip
    _plan, layout, _zones = laying.on_record(bench.studio, taken.code)
    wanted = change_between(layout, now.layout, taken.unit)
    return references.replan(
        bench.studio, taken.code, zones=now.zones, wanted=wanted, on_progress=stopper
    )[0]


def _keep(bench: "Workbench") -> None:
    table = bench.laying_page.table
    if table is not None and (table.is_changed or bench.laying_page.new is not None):
        keep(bench)
    else:
        bench.say("It lies as it was planned")


def _with(change: Callable[["Table"], Any]) -> Callable[["Workbench"], None]:
    """Return what changes the table, and shows it."""

    def do(bench: "Workbench") -> None:
        page = bench.laying_page
        if page.table is not None:
            change(page.table)
            page.changed()

    return do


def _arrow(bench: "Workbench", right: int, down: int) -> None:
    table, far = bench.laying_page.table, bench.last_key.startswith("shift")
    if table is None:
        return
    if far and (table.area is not None or table.hand == "crop"):
        table.stretch(right, -down if down else 0)
    else:
        table.step(right, down, far=far)
    bench.laying_page.changed()


def _take(name: str) -> Callable[["Workbench"], None]:
    def change(table: "Table") -> None:
        table.take(name)
        if name in _SWITCHES:
            table.switch(name)

    return _with(change)


def _put(kind: str) -> Callable[["Workbench"], None]:
    return _with(lambda table: table.put_mark(kind, _BEGINS))


def _type(bench: "Workbench") -> None:
    """Give the value in hand as one would type it."""
    page = bench.laying_page
    table = page.table
    if table is None:
        return
    row = next(row for row in table.rows() if row.name == table.hand)
    name = table.hand.partition(" ")[0]

    def send(answers: Answers) -> bool:
        table.type(answers["value"])
        return True

    form = Form(f"{name.capitalize()}, as on the command line", [
        Field("value", name, "", row.text),
    ], send, send="Take it")  # fmt: skip
    bench.ask(form, lambda _: page.changed())


def _see(name: str) -> Callable[["Workbench"], None]:
    def do(bench: "Workbench") -> None:
        page = bench.laying_page
        if page.table is not None:
            page.look_at(**{name: not getattr(page.view, name)})

    return do


def _closer(by: int) -> Callable[["Workbench"], None]:
    return lambda bench: bench.laying_page.closer(by)


def _whole(bench: "Workbench") -> None:
    if bench.laying_page.table is not None:
        bench.laying_page.look_at(closer=1, middle=None)


def _here(bench: "Workbench") -> bool:
    return bench.page_name == "laying" and bench.laying_page.table is not None


def _has_mark(bench: "Workbench") -> bool:
    return _here(bench) and bench.laying_page.table is not None and (
        bench.laying_page.table.mark is not None
    )  # fmt: skip


_open = of_job(lambda job: job.open)
_ARROWS = (("left", -1, 0), ("right", 1, 0), ("up", 0, -1), ("down", 0, 1))
_WORDS = {
    "shift": "Place the photo", "scale": "Its size", "turn": "Its turn", "mirror": "Mirror it",
    "whole": "Fill the wood, or show all of it", "margin": "A bare edge", "crop": "The part to use",
    "black": "Black point", "white": "White point", "midtone": "Middle tones",
    "contrast": "Local contrast", "levels": "Find black and white", "zones": "Number of zones",
    "line": "How much is drawn", "subject": "Mark the subject", "focal": "Mark what counts most",
    "drop": "Mark what is left bare", "keep": "Mark what is burned all the same",
}  # fmt: skip


def _key(
    name: str, key: str, words: str, about: str, do: Callable[["Workbench"], None],
    short: str = "", *, can: Callable[["Workbench"], bool] = _here, repeats: bool = False,
) -> Action:  # fmt: skip
    return Action(
        f"lay_{name}", words, about, do, can, key=key, short=short, page="laying", repeats=repeats
    )


ACTIONS = (
    Action("lay_out", "Lay the photo out", "Place, marks, tones, zones and lines, by eye", lay_out,
           _open, key="y", short="Lay out", page="job", why="It is closed"),
    _key("done", "ctrl+s", "Keep it", "Plan the work from it as it lies now", _keep, "Keep"),
    _key("next", "tab", "The next value", "Take it in hand",
         _with(lambda table: table.next(1)), "Next", repeats=True),
    _key("before", "shift+tab", "The value before", "Take it in hand",
         _with(lambda table: table.next(-1)), repeats=True),
    _key("zones_shown", "v", "Zones or photo", "What is seen", _see("zones"), "Zones"),
    _key("lines_shown", "o", "Lines over it", "As they will be traced", _see("lines"), "Lines"),
    _key("type", "enter", "Type the value", "As on the command line", _type, "Type"),
    _key("undo", "u", "Undo", "Take back the last change at this table",
         _with(lambda table: table.undo()), "Undo"),
    _key("redo", "U", "Redo", "Make again what was taken back",
         _with(lambda table: table.redo())),
    _key("remove", "x,delete", "Remove the mark", "The one in hand",
         _with(lambda table: table.remove()), "Remove", can=_has_mark),
    _key("reshape", "i", "Ellipse or rectangle", "The mark in hand",
         _with(lambda table: table.reshape()), can=_has_mark),
    _key("reset", "backspace", "As it was", "The value in hand",
         _with(lambda table: table.reset())),
    _key("closer", "pageup", "Look closer", "At what is in hand", _closer(1), repeats=True),
    _key("farther", "pagedown", "Look from farther off", "", _closer(-1), repeats=True),
    _key("all", "home", "See all of it", "", _whole),
    *(_key(name, f"{name},shift+{name}", "Move it, more or less", "Shift goes further",
           partial(_arrow, right=right, down=down), repeats=True)
      for name, right, down in _ARROWS),
    _key("larger", "plus,equals_sign", "Larger, more", "Of what is in hand",
         _with(lambda table: table.grow(1)), repeats=True),
    _key("smaller", "minus", "Smaller, less", "Of what is in hand",
         _with(lambda table: table.grow(-1)), repeats=True),
    _key("quarter", "q", "Turn by a quarter", "Clockwise", _with(lambda table: table.quarter())),
    *(_key(name, letter, _WORDS[name], "", _put(name) if name in _MARKS else _take(name))
      for name, letter in LETTERS.items()),
)  # fmt: skip
