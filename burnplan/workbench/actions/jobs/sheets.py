"""Sheets to print or to send: written on a thread, with progress, and stopped by escape."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.files import WouldReplace, given_path, make_folder, replacing
from burnplan.sheets.writing import Written
from burnplan.workbench.actions.action import Action
from burnplan.workbench.forms import Answers, Choice, Field, Files, Form

if TYPE_CHECKING:
    from burnplan.workbench.app import Workbench
    from burnplan.workbench.threads import Stopper

    Writes = Callable[[Path, Stopper], list[Written]]

_SHEETS = {
    "job": ("Job sheet", "picture, zones, settings, steps, cautions"),
    "reference": ("Reference, value map, lines", "to print at true size"),
    "quote": ("Quote", "for the client"),
    "invoice": ("Invoice", "what was agreed, paid and is open"),
    "receipts": ("Receipts", "one for each payment"),
    "week": ("The week", "a page for the wall"),
    "portfolio": ("Portfolio", "pieces handed over that may be shown"),
}

# Those that are of no job.
_STUDIO_S = ("week", "portfolio")


def sheets(bench: "Workbench") -> None:
    """Choose a sheet and write it."""
    job = bench.job
    there = {*_STUDIO_S}
    if job is not None:
        there |= {"job"} | ({"reference"} if job.reference else set())
        there |= {"quote"} if job.quotes else set()
        there |= {"invoice"} if job.commission.quoted is not None else set()
        there |= {"receipts"} if job.payments else set()
    choices = [
        (key, Content.assemble(name, (f"  {about}", "$foreground-muted")))
        for key, (name, about) in _SHEETS.items()
        if key in there
    ]
    code = job.commission.code if job is not None else ""
    bench.choose(Choice("Which sheet?", choices), lambda key: _into(bench, code, key))


def _into(bench: "Workbench", code: str, key: str) -> None:
    def writes(into: Path, stopper: "Stopper") -> list[Written]:
        from burnplan.workbench import sheets  # brings numpy and ReportLab

        return sheets.WRITERS[key](bench.studio, code, into, stopper)

    def then(made: list[Written]) -> None:
        from burnplan.workbench import sheets  # by now it is there

        _written(bench, made, sheets.HINTS.get(key, ""))

    whose = f" of {code}" if code and key not in _STUDIO_S else ""
    write(bench, f"{_SHEETS[key][0]}{whose}", lambda _: writes, then)


def write(
    bench: "Workbench",
    title: str,
    prepare: "Callable[[Answers], Writes]",
    then: Callable[[list[Written]], None],
    asked: Sequence[Field] = (),
) -> None:
    """Ask for a folder, and what else is asked, and write files into it.

    ``prepare`` is given the answers before anything is written, and returns what writes;
    ``then`` is told what was written.
    """

    def send(answers: Answers) -> "tuple[Path, Writes]":
        writes, into = prepare(answers), given_path(answers["folder"] or ".")
        make_folder(into)
        return into, writes

    def start(prepared: "tuple[Path, Writes]", agreed: frozenset[Path] = frozenset()) -> None:
        def attempt(stopper: "Stopper") -> list[Written] | Path:
            into, writes = prepared
            try:
                with replacing(agreed.__contains__, bench.studio.keeps):
                    return writes(into, stopper)
            except WouldReplace as other:
                return other.path

        def attempted(done: list[Written] | Path) -> None:
            if isinstance(done, Path):
                _ask_to_replace(bench, done, lambda: start(prepared, agreed | {done}))
            else:
                then(done)

        bench.long(attempt, attempted)

    hint, here = "the one burnplan was started in", str(Path.cwd())
    folder = Field("folder", "Into folder", hint, here, Files(folders=True))
    bench.ask(Form(title, [*asked, folder], send, send="Write it"), start)


def _ask_to_replace(bench: "Workbench", path: Path, agreed: Callable[[], None]) -> None:
    choices = [("keep", Content("Keep it, and write nothing")), ("replace", Content("Replace it"))]
    question = f"{path.name} is there already, and may be something else"
    bench.choose(Choice(question, choices), lambda key: agreed() if key == "replace" else None)


def _written(bench: "Workbench", written: list[Written], hint: str) -> None:
    bench.say("Wrote " + ", ".join(str(one.path.absolute()) for one in written))
    for note in dict.fromkeys(note for one in written for note in one.notes):
        bench.say(note, mind=True)
    if hint:
        bench.say(hint)


ACTIONS = (
    Action("sheets", "Write sheets", "Job sheet, true-size sheets, quote, invoice, receipts, week",
           sheets, key="w"),
)  # fmt: skip
