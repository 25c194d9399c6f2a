"""What is wrong with a book and its originals, on any engine."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Connection,
    Table,
    func,
    literal_column,
    select,
)

from burnplan.errors import OperationFailed
from burnplan.files import (
    UNFINISHED,
    discard,
    is_private,
    make_folder,
    make_private,
    make_way,
    written_whole,
)
from burnplan.ledger import originals
from burnplan.ledger.json_checks import checks
from burnplan.ledger.models import Original, Quote, QuoteLine
from burnplan.ledger.package import Package
from burnplan.ledger.soundness import LOGS, many
from burnplan.ledger.tables import count, rows, tables, to_json
from burnplan.progress import Progress, silent
from burnplan.sentences import Do, Sentence

# Somebody may be writing a younger one right now.
LEFT_OVER = timedelta(hours=1)


_NO_REMEDY = Sentence()


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that is not as it should be.

    Parameters
    ----------
    where : str
        A table, a file.
    problem : str
        A clause without a full stop.
    wrong : bool
        False for what is only worth knowing.
    repair : callable or None
        Puts it right, where that is safe.
    remedy : Sentence
        What else can be done about it.
    """

    where: str
    problem: str
    wrong: bool = True
    repair: Callable[[], None] | None = None
    remedy: Sentence = _NO_REMEDY


def of_rows(
    connection: Connection, unreadable: set[str], on_progress: Progress = silent
) -> Iterator[Finding]:
    """Look for rows that break what the models say of every row.

    Parameters
    ----------
    connection : Connection
    unreadable : set of str
        Tables whose rows cannot be read one by one.
    on_progress : Progress
    """
    whole = sum(count(connection, table) for table in tables()) or 1
    done = 0
    for table in tables():
        yield from _broken_rules(connection, table)
        yield from _without_parents(connection, table)
        if table.name in unreadable:
            continue
        strange: dict[tuple[str, str], int] = {}
        by_column = checks(table)
        for row in rows(connection, table):
            done += 1
            for name, check in by_column.items():
                if why := check(to_json(row[name])):
                    strange[name, why] = strange.get((name, why), 0) + 1
            if done % 1000 == 0:
                on_progress(done / whole, "checking rows")
        for (name, why), number in strange.items():
            yield Finding(table.name, f"'{name}' {why} in {many(number, 'row')}")
    yield from _sums(connection)


def _broken_rules(connection: Connection, table: Table) -> Iterator[Finding]:
    rules: dict[str, ColumnElement[bool]] = {
        str(check.sqltext): ~literal_column(f"({check.sqltext})")
        for check in table.constraints
        # Those of an enumeration are looked at value by value.
        if isinstance(check, CheckConstraint) and not getattr(check, "_type_bound", False)
    }
    if not rules:
        return
    counted = (func.count().filter(broken) for broken in rules.values())
    found = connection.execute(select(*counted).select_from(table)).one()
    for rule, number in zip(rules, found, strict=True):
        if number:
            yield Finding(table.name, f"{many(number, 'row')} against the rule {rule}")


def _without_parents(connection: Connection, table: Table) -> Iterator[Finding]:
    for key in table.foreign_keys:
        child, parents = key.parent, key.column.table.alias()
        there = select(1).where(parents.c[key.column.name] == child).exists()
        number = connection.execute(
            select(func.count()).select_from(table).where(child.is_not(None), ~there)
        ).scalar_one()
        if number:
            yield Finding(
                table.name,
                f"{many(number, 'row')} whose '{child.name}' is not in {key.column.table.name}",
            )


def _sums(connection: Connection) -> Iterator[Finding]:
    """Look for quotes whose lines do not add up to their total."""
    sums = select(func.coalesce(func.sum(QuoteLine.amount), 0)).where(
        QuoteLine.quote_id == Quote.id
    )
    for number in connection.scalars(select(Quote.id).where(sums.scalar_subquery() != Quote.total)):
        yield Finding("quote", f"the lines of number {number} do not add up to its total")


def of_originals(
    connection: Connection,
    folder: Path,
    now: datetime,
    spare: Package | None = None,
    on_progress: Progress = silent,
) -> Iterator[Finding]:
    """Look for originals that are missing, damaged, unused or left half written.

    Parameters
    ----------
    connection : Connection
    folder : Path
        Of the originals.
    now : datetime
    spare : Package, optional
        A backup or export to take missing ones from.
    on_progress : Progress
    """
    wanted = select(Original.sha256, Original.filename, Original.bytes)
    named = {row.sha256: row for row in connection.execute(wanted)}
    spares = spare.originals() if spare else {}
    for number, (sha256, row) in enumerate(named.items(), start=1):
        on_progress(number / len(named), "checking photos")
        photo = f"'{row.filename}' ({sha256[:12]}…)"
        try:
            length = originals.fetch(folder, sha256).stat().st_size
        except OperationFailed:
            how = "damaged" if originals.place(folder, sha256).exists() else "missing"
            repair = None
            if spare and sha256 in spares:
                repair = partial(put_back, folder, sha256, spare, spares[sha256])
            remedy = Sentence("Take it back from a backup: ", Do("book.check_from"))
            yield Finding(
                "originals",
                f"{photo} is {how}",
                repair=repair,
                remedy=_NO_REMEDY if repair else remedy,
            )
        else:
            if length != row.bytes:
                yield Finding("original", f"'bytes' of {photo} is not the photo's length")
    for path in sorted(folder.glob("*/*")):
        if path.name in named and path.parent.name == path.name[:2]:
            continue
        if path.name.startswith("tmp") or path.suffix == UNFINISHED:
            yield from _left_over(path, now)
        else:
            yield Finding("originals", f"{path.name[:12]} is used by nothing", wrong=False)


def put_back(folder: Path, sha256: str, spare: Package, member: str) -> None:
    """Write an original from a package, verified, in place of what there is.

    Raises
    ------
    BadInput
        If it is damaged there too.
    OperationFailed
        If it cannot be written.
    """
    target = originals.place(folder, sha256)
    for kept_in in (folder, target.parent):
        make_way(kept_in)
        make_folder(kept_in, private=True)
        make_private(kept_in)
    with written_whole(target, private=True, own=True) as unfinished:
        spare.extract(member, unfinished)


def of_files(home: Path, book: Path | None, now: datetime) -> Iterator[Finding]:
    """Look for files that others can read, or that were left half written."""
    for folder in (home / "originals", home / "copies"):
        if folder.exists() and not folder.is_dir():
            repair = partial(make_way, folder)
            yield Finding(str(folder), "is not a folder", repair=repair)
    private = [home / "originals", home / "copies", *((home / "copies").glob("*"))]
    if book is not None:
        private += [book, *(book.with_name(book.name + end) for end in LOGS)]
    for path in private:
        with suppress(OSError):  # not there, or not ours to look at: reading it says so
            if not is_private(path):
                problem = "others on this computer can read it"
                yield Finding(str(path), problem, repair=partial(make_private, path))
    for folder in {home, home / "copies", *([book.parent] if book else [])}:
        for path in sorted(folder.glob(f".*{UNFINISHED}")):
            yield from _left_over(path, now)


def _left_over(path: Path, now: datetime) -> Iterable[Finding]:
    """Say that a file was left by a program that was stopped, if it is old enough."""
    with suppress(FileNotFoundError):
        if now.timestamp() - path.stat().st_mtime > LEFT_OVER.total_seconds():
            problem = "left half written by a program that was stopped"
            return [Finding(str(path), problem, repair=partial(discard, path))]
    return []
