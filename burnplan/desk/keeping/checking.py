"""Look whether the book and its photos are whole, and put right what is safe to."""

import os
from collections.abc import Iterator
from contextlib import nullcontext
from dataclasses import replace
from itertools import chain
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from burnplan.desk.derived import studio_settings
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BurnplanError, OperationFailed
from burnplan.ledger import backup, checking, engines, migrate, models, package, soundness
from burnplan.ledger.checking import Finding
from burnplan.ledger.models import Reference
from burnplan.ledger.soundness import many
from burnplan.progress import Progress, part, silent
from burnplan.reckon.work import Work, WorkPlan
from burnplan.sentences import Do, Sentence
from burnplan.view import View

# What of the hours is relied on.
_SHARES = ("p50", "p80")


class FindingView(View):
    """Something that is not as it should be; not ``wrong`` if it is only worth knowing."""

    where: str
    problem: str
    wrong: bool
    repairable: bool
    repaired: bool
    # What else can be done about it.
    remedy: Sentence


class Checked(View):
    """What was looked at, and found."""

    sound: bool
    findings: list[FindingView]


def damage(studio: Studio) -> BurnplanError | None:
    """Return what is damaged, where something went wrong that should not have.

    A byte that a failing disk has changed can make any value unreadable, anywhere.
    None if all is whole.
    """
    try:
        path = _path(studio)
        found = next(chain(_in_file(path), _in_rows(studio, path, set(), silent)), None)
    except BurnplanError as error:
        return error
    except Exception:  # noqa: BLE001 looking for damage must not hide what went wrong
        return None
    if found is None:
        return None
    remedy = backup.way_out(path) if path is not None else ("Look it over: ", Do("book.check"))
    return OperationFailed(f"The book is damaged: {found.where}, {found.problem}", *remedy)


def check(
    studio: Studio,
    *,
    repair: bool = False,
    spare: Path | None = None,
    on_progress: Progress = silent,
) -> Checked:
    """Look for damage in the book, its rows, its photos and their folders.

    Parameters
    ----------
    studio : Studio
    repair : bool
        Put right what is safe: remove what a stopped program left half written,
        make private what others could read, take photos back from ``spare``.
    spare : Path, optional
        A backup or export that may have photos missing here.
    on_progress : Progress

    Returns
    -------
    Checked
        Sound if nothing is wrong any more.

    Raises
    ------
    BadInput
        If ``spare`` cannot be used.
    """
    with package.opened(spare) if spare else nullcontext() as photos:
        found = [_view(finding, repair) for finding in _findings(studio, photos, on_progress)]
    return Checked(sound=not any(one.wrong and not one.repaired for one in found), findings=found)


def _view(finding: Finding, repair: bool) -> FindingView:
    repaired, problem = False, finding.problem
    if repair and finding.repair is not None:
        try:
            finding.repair()
            repaired = True
        except (BurnplanError, OSError) as error:
            problem = f"{problem}; {error}"
    return FindingView(
        where=finding.where,
        problem=problem,
        wrong=finding.wrong,
        repairable=finding.repair is not None,
        repaired=repaired,
        remedy=finding.remedy,
    )


def _findings(
    studio: Studio, spare: package.Package | None, on_progress: Progress
) -> Iterator[Finding]:
    path = _path(studio)
    if path is None:
        studio.notices.append(
            Sentence(
                "A book on a server is not copied by itself each day: let a daily job call ",
                Do("book.backup"),
                ", or use the server's own dumps",
            )
        )
    yield from checking.of_files(studio.home, path, studio.now())
    on_progress(0.0, "checking the book's file")
    unreadable: set[str] = set()
    wrong = list(_in_file(path))
    usable = not wrong
    if usable:
        wrong = list(_in_rows(studio, path, unreadable, part(on_progress, 0.1, 0.5)))
    if wrong and path is not None:
        wrong[-1] = replace(wrong[-1], remedy=Sentence(*backup.way_out(path)))
    yield from wrong
    if usable and "original" not in unreadable:
        with studio.reading() as book:
            yield from checking.of_originals(
                book.connection(),
                studio.originals,
                studio.now(),
                spare,
                part(on_progress, 0.5, 1.0),
            )


def _path(studio: Studio) -> Path | None:
    return engines.book_path(engines.open_engine(studio.database_url))


def _in_file(path: Path | None) -> Iterator[Finding]:
    """Look for damage in a book that is a file, and whether it is one."""
    if path is None or not os.path.lexists(path):
        return
    faults = soundness.damage(path)
    if not faults and not soundness.is_empty(path):
        number = soundness.version(path)
        # What is of another burnplan's form is told when it is opened.
        if number is None or not migrate.is_another(number):
            faults = soundness.form_faults(path)
    yield from (Finding(path.name, fault) for fault in faults)


def _in_rows(
    studio: Studio, path: Path | None, unreadable: set[str], on_progress: Progress
) -> Iterator[Finding]:
    """Look for damage in the rows; tables of which not all can be read join ``unreadable``."""
    if path is not None and path.exists():
        with studio.reading():
            pass  # brought to the newest schema, so that its tables are those of the models
        for table, column, number in soundness.unreadable(path):
            unreadable.add(table)
            yield Finding(table, f"'{column}' cannot be read in {many(number, 'row')}")
    with studio.reading() as book:
        yield from checking.of_rows(book.connection(), unreadable, on_progress)
        if "reference" not in unreadable:
            yield from _plans(book)
        if "studio" not in unreadable:
            yield from _holidays(book)


def _plans(book: Session) -> Iterator[Finding]:
    """Look for references whose plan or forecast is none, though it is sound as JSON."""
    query = select(Reference.id, Reference.plan, Reference.hours).order_by(Reference.id)
    for number, plan, hours in book.execute(query, execution_options={"yield_per": 100}):
        try:
            WorkPlan.from_dict(plan)
            whole = all(isinstance(hours[work][at], float | int) for work in Work for at in _SHARES)
        except (KeyError, TypeError, ValueError, AttributeError):
            whole = False
        if not whole:
            yield Finding("reference", f"the plan or the hours of number {number} are none")


def _holidays(book: Session) -> Iterator[Finding]:
    for named in book.scalars(select(models.Studio.holidays)):
        try:
            studio_settings.country(named)
        except BurnplanError as error:
            yield Finding("studio", str(error))
