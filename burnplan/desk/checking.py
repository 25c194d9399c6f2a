"""Look whether the book and its photos are whole, and put right what is safe to."""

from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path

from burnplan.desk.studio import Studio
from burnplan.desk.view import View
from burnplan.errors import BurnplanError, OperationFailed
from burnplan.ledger import backup, checking, package
from burnplan.ledger import engine as doors
from burnplan.ledger.checking import Finding, many
from burnplan.ledger.tables import tables
from burnplan.tone.progress import Progress, part, silent


class FindingView(View):
    """Something that is not as it should be; not ``wrong`` if it is only worth knowing."""

    where: str
    problem: str
    wrong: bool
    repairable: bool
    repaired: bool


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
        findings = check(studio).findings
    except BurnplanError as error:
        return error
    for one in findings:
        if one.wrong:
            return OperationFailed(
                f"The book is damaged: {one.where}, {one.problem}",
                "Look it over in a terminal: burnplan check",
            )
    return None


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
    )


def _findings(
    studio: Studio, spare: package.Package | None, on_progress: Progress
) -> Iterator[Finding]:
    path = doors.book_path(doors.open_engine(studio.database_url))
    if path is None:
        studio.notices.append(
            "A book on a server is not copied by itself each day: let a daily job call"
            " 'burnplan backup', or use the server's own dumps"
        )
    yield from checking.of_files(studio.home, path, studio.now())
    unreadable = set()
    if path is not None and path.exists():
        on_progress(0.0, "checking the book's file")
        if damage := backup.damage(path):
            yield from (Finding(path.name, line) for line in damage)
            newest = backup.newest_copy(path)
            yield Finding(
                path.name,
                f"the newest copy to restore is {newest}" if newest else "there is no copy of it",
                wrong=False,
            )
            return
        with studio.reading():
            pass  # brought to the newest schema, so that its tables are those of the models
        for table, column, number in backup.unreadable(path, tables()):
            unreadable.add(table)
            yield Finding(table, f"'{column}' cannot be read in {many(number, 'row')}")
    with studio.reading() as book:
        connection = book.connection()
        yield from checking.of_rows(connection, unreadable, part(on_progress, 0.1, 0.5))
        if "original" not in unreadable:
            yield from checking.of_originals(
                connection, studio.originals, studio.now(), spare, part(on_progress, 0.5, 1.0)
            )
