"""Sheets to print or to send: written on a thread, with progress, and stopped by escape."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from textual.content import Content

from burnplan.desk.studio import settings
from burnplan.files import WouldReplace, given_path, make_folder, replacing
from burnplan.sheets.writing import Written
from burnplan.workbench.actions.action import Action
from burnplan.workbench.forms import Choice, Field, Form

if TYPE_CHECKING:
    from burnplan.desk.studio.studio import Studio
    from burnplan.workbench.app import Workbench
    from burnplan.workbench.threads import Stopper

# Writes the sheets of a job, or of the week, into a folder.
Write = Callable[["Studio", str, Path, "Stopper"], list[Written]]


def _job_sheet(studio: "Studio", code: str, into: Path, stopper: "Stopper") -> list[Written]:
    from burnplan.desk.jobs import job_sheets, references
    from burnplan.sheets.jobs.job_sheet import job_sheet
    from burnplan.tone.render import sepia

    job = job_sheets.gather(studio, code)
    picture = None
    if job.commission.references:
        picture = sepia(references.pictures(studio, code, stopper)[1].placed)
    stopper(0.9, "writing the job sheet")
    return [job_sheet(into / f"{code}-job.pdf", job, settings.current(studio), picture)]


def _true_size(studio: "Studio", code: str, into: Path, stopper: "Stopper") -> list[Written]:
    from burnplan.desk.jobs import references
    from burnplan.sheets.jobs.true_size import write_true_size

    view, reading = references.pictures(
        studio, code, lambda share, label: stopper(0.6 * share, label)
    )
    return write_true_size(
        view, reading, settings.current(studio), studio.today(), into,
        on_progress=lambda share, label: stopper(0.6 + 0.4 * share, label),
    )  # fmt: skip


def _quote(studio: "Studio", code: str, into: Path, stopper: "Stopper") -> list[Written]:
    from burnplan.desk.jobs import clients, commissions
    from burnplan.desk.money import quotes
    from burnplan.sheets.money.quote_sheet import quote_letter

    stopper(0.2, "writing the quote")
    view, piece = quotes.show(studio, code), commissions.show(studio, code)
    client, own = (
        clients.show(studio, piece.client) if piece.client else None,
        settings.current(studio),
    )
    letter = quote_letter(view, piece, client, own)
    return [letter.write(into / f"{code}-quote-{view.version}.pdf")]


def _week(studio: "Studio", _code: str, into: Path, stopper: "Stopper") -> list[Written]:
    from burnplan.desk.time import week
    from burnplan.sheets.time.week_page import write_week

    stopper(0.1, "laying out the week")
    page, own = week.page(studio), settings.current(studio)
    stopper(0.6, "writing the week's page")
    return [write_week(page, into / f"week-{page.days[0].day}.pdf", own)]


_SHEETS: dict[str, tuple[str, str, Write]] = {
    "job": ("Job sheet", "picture, zones, settings, steps, cautions", _job_sheet),
    "reference": ("Reference and trace sheets", "to print at true size", _true_size),
    "quote": ("Quote", "for the client", _quote),
    "week": ("The week", "a page for the wall", _week),
}


def sheets(bench: "Workbench") -> None:
    """Choose a sheet and write it."""
    job = bench.job
    there = {"week"}
    if job is not None:
        there |= {"job"} | ({"reference"} if job.reference else set())
        there |= {"quote"} if job.quotes else set()
    choices = [
        (key, Content.assemble(name, (f"  {about}", "$foreground-muted")))
        for key, (name, about, _) in _SHEETS.items()
        if key in there
    ]
    code = job.commission.code if job is not None else ""
    bench.choose(Choice("Which sheet?", choices), lambda key: _into(bench, code, key))


def _into(bench: "Workbench", code: str, key: str) -> None:
    name, _, write = _SHEETS[key]

    def folder(text: str) -> Path:
        into = given_path(text or ".")
        make_folder(into)
        return into

    def start(into: Path, agreed: frozenset[Path] = frozenset()) -> None:
        def attempt(stopper: "Stopper") -> list[Written] | Path:
            try:
                with replacing(agreed.__contains__, bench.studio.keeps):
                    return write(bench.studio, code, into, stopper)
            except WouldReplace as other:
                return other.path

        def then(done: list[Written] | Path) -> None:
            if isinstance(done, Path):
                _ask_to_replace(bench, done, lambda: start(into, agreed | {done}))
            else:
                _written(bench, done)

        bench.long(attempt, then)

    fields = [Field("folder", "Into folder", "the one burnplan was started in", str(Path.cwd()))]
    form = Form(name, fields, lambda answers: folder(answers["folder"]), send="Write it")
    bench.ask(form, start)


def _ask_to_replace(bench: "Workbench", path: Path, agreed: Callable[[], None]) -> None:
    choices = [("keep", Content("Keep it, and write nothing")), ("replace", Content("Replace it"))]
    question = f"{path.name} is there already, and is something else"
    bench.choose(Choice(question, choices), lambda key: agreed() if key == "replace" else None)


def _written(bench: "Workbench", written: list[Written]) -> None:
    bench.say("Wrote " + ", ".join(str(one.path) for one in written))
    for note in dict.fromkeys(note for one in written for note in one.notes):
        bench.say(note, mind=True)
    if len(written) > 1:
        from burnplan.sheets.jobs.true_size import PRINT_HINT  # brings numpy, as the sheets did

        bench.say(PRINT_HINT)


ACTIONS = (
    Action("sheets", "Write sheets", "Job sheet, true-size sheets, quote, the week: as PDF",
           sheets, key="w"),
)  # fmt: skip
