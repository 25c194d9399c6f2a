"""Lettering on the piece of the job shown: a name, a date, a saying."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.jobs import lettering
from burnplan.desk.jobs.lettering import LetteringListView, LetteringView, LetteringWishes
from burnplan.desk.studio import settings
from burnplan.units import UnitSystem, format_length
from burnplan.workbench.actions.action import Action, of_job, on_job
from burnplan.workbench.actions.wood.blanks import reopening
from burnplan.workbench.drawing import SOFT, STRONG
from burnplan.workbench.forms import Answers, Field, Files, Form, chosen_of

if TYPE_CHECKING:
    from rich.console import RenderableType

    from burnplan.workbench.app import Workbench

_Chosen = Callable[[dict[str, LetteringView], str], None]
_Deed = Callable[..., LetteringListView]
_COURSES = ("straight", "arc", "edge")


def letter(bench: "Workbench") -> None:
    """Letter words on the piece; the plan is made again with them."""
    _ask(bench, None)


def change(bench: "Workbench") -> None:
    """Change one of the letterings."""

    def chosen(found: dict[str, LetteringView], number: str) -> None:
        _ask(bench, found[number])

    _choose(bench, "Which lettering changes?", chosen)


def remove(bench: "Workbench") -> None:
    """Take one of the letterings off the piece."""
    code = bench.job_page.code

    def chosen(_found: dict[str, LetteringView], number: str) -> None:
        _again(bench, partial(lettering.remove, bench.studio, code, int(number)))

    _choose(bench, "Which lettering goes?", chosen)


def look(bench: "Workbench") -> None:
    """Show what is lettered, to be read letter by letter."""
    code = bench.job_page.code
    bench.read(f"Lettered on {code}", lambda: _shown(bench, code))


def _shown(bench: "Workbench", code: str) -> "RenderableType":
    from burnplan.show.jobs.lettered import lettering_list  # brings the shaping of text

    return lettering_list(lettering.of(bench.studio, code), settings.current(bench.studio))


def _choose(bench: "Workbench", title: str, then: _Chosen) -> None:
    code, found = bench.job_page.code, dict[str, LetteringView]()

    def everything() -> list[LetteringView]:
        them = lettering.of(bench.studio, code).lettering
        found.update({str(one.number): one for one in them})
        return them

    def line(one: LetteringView) -> tuple[str, Content]:
        said = Content.assemble((_in_a_line(one), STRONG), (f"  {one.typeface}", SOFT))
        return str(one.number), said

    bench.choose_of(everything, title, line, lambda number: then(found, number),
                    nothing=f"Nothing is lettered on {code}")  # fmt: skip


def _in_a_line(one: LetteringView) -> str:
    return " / ".join(one.lines)


def _ask(bench: "Workbench", now: LetteringView | None) -> None:
    """Ask for a lettering; what is left as it is stays so."""
    code, own = bench.job_page.code, bench.wording.own
    units = bench.now.own.units if bench.now else UnitSystem.METRIC
    before = {} if now is None else {
        "words": _in_a_line(now), "height": format_length(now.height_mm, units),
        "at": "" if now.middle_mm else now.at, "course": now.course,
        "clear": format_length(now.clear_mm, units),
    }  # fmt: skip
    fields = [
        Field("words", "Words", "a line each, with / between", before.get("words", "")),
        Field("font", "Typeface", "serif, sans, bold, script, display, …, or a font file",
              known=Files()),
        Field("height", "Capitals", own("how high: 12mm"), before.get("height", "")),
        Field("at", "Where", "top, middle, bottom, or right,down of its middle",
              before.get("at", "bottom")),
        Field("course", "It runs", ", ".join(_COURSES), before.get("course", _COURSES[0])),
        Field("clear", "Bare strip", own("round it: 3mm"), before.get("clear", "")),
    ]  # fmt: skip

    def wishes(answers: Answers) -> LetteringWishes:
        said = {name: text for name, text in answers.items() if text != before.get(name)}
        course, words = said.get("course"), said.get("words")
        return LetteringWishes(
            lines=None if words is None else [line.strip() for line in words.split(" / ")],
            font=said.get("font") or None,
            height=said.get("height") or None,
            at=said.get("at") or None,
            course=chosen_of(_COURSES, course, "course") if course else None,
            clear=said.get("clear") or None,
        )

    def put(made: LetteringWishes) -> None:
        number = None if now is None else now.number
        _again(bench, partial(lettering.put, bench.studio, code, made, number=number))

    heading = f"Letter {code}" if now is None else f"Lettering {now.number} of {code}"
    bench.ask(Form(heading, fields, wishes, send="Letter it"), put)


def _again(bench: "Workbench", do: _Deed) -> None:
    """Do it with the plan made again, asking about steps that it undoes, and show what there is."""
    code = bench.job_page.code

    def show(_made: LetteringListView) -> None:
        bench.read(f"Read it letter by letter: {code}", lambda: _shown(bench, code))

    def run(reopen: bool) -> None:
        bench.long(lambda stopper: do(reopen=reopen, on_progress=stopper), show, writes=True)

    bench.find(
        lambda: lettering.undone_by(bench.studio, code),
        lambda steps: reopening(bench, steps, run),
    )


_open = of_job(lambda job: job.open)

ACTIONS = (
    Action("letter", "Letter words", "A name, a date or a saying on the piece", letter, _open,
           key="L", page="job", why="It is closed"),
    Action("letterings", "What is lettered", "To be read letter by letter", look, on_job),
    Action("change_lettering", "Change a lettering", "Its words, typeface, height or place", change,
           _open),
    Action("unletter", "Take a lettering off", "The plan is made again without it", remove, _open),
)  # fmt: skip
