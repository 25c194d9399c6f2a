"""The open studio: where its book and photos are, its clock, its transactions.

The command line, the demo and the tests all come through :func:`open_studio`,
so a test differs from the real thing by a temporary home and a fixed clock.
"""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, tzinfo
from functools import cached_property
from pathlib import Path
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from burnplan.cleaned import cleaned_line
from burnplan.errors import BurnplanError, OperationFailed
from burnplan.files import make_private
from burnplan.home import own_home
from burnplan.ledger import engines, history, migrate
from burnplan.ledger.models import History
from burnplan.sentences import Sentence
from burnplan.terminal_safe import terminal_safe


def _system_now() -> datetime:
    return datetime.now(UTC)


class Entry:
    """What one desk action says of itself, for the history."""

    def __init__(self, action: str, changes: list[dict[str, Any]]) -> None:
        self.action = action
        self.summary = action
        self.commission_id: int | None = None
        # Rows changed so far; an undo, which the recorder does not see, adds its own.
        self.changes = changes
        self.undoes_id: int | None = None

    def says(self, summary: str, commission_id: int | None = None) -> None:
        """Give the line shown in the history and by ``undo``."""
        self.summary, self.commission_id = terminal_safe(summary)[:300], commission_id


@dataclass
class Studio:
    """A studio's book, photos and clock.

    Parameters
    ----------
    home : Path
        Folder of the book and the original photos.
    database_url : str
        SQLAlchemy URL of the book.
    clock : callable
        Returns now, aware.
    zone : tzinfo, optional
        The local zone; None for the system's.
    author : str
        Whom the history names for what is done.
    notices : list of Sentence
        What came up beside the work.
    begins_anew : bool
        Whether a book may be made where copies or photos of another are.
    """

    home: Path
    database_url: str
    clock: Callable[[], datetime] = _system_now
    zone: tzinfo | None = None
    author: str = ""
    notices: list[Sentence] = field(default_factory=list)
    begins_anew: bool = False

    @property
    def originals(self) -> Path:
        """Return the folder of the photos kept."""
        return self.home / "originals"

    def now(self) -> datetime:
        """Return now, in UTC."""
        return self.clock().astimezone(UTC)

    def local(self, moment: datetime) -> datetime:
        """Return a moment on record as wall-clock time here, without its zone."""
        return moment.astimezone(self.zone).replace(tzinfo=None)

    def moment(self, wall_clock: datetime) -> datetime:
        """Return wall-clock time here as a moment in UTC."""
        there = wall_clock.replace(tzinfo=self.zone) if self.zone else wall_clock
        return there.astimezone(UTC)

    def midnight(self, day: date) -> datetime:
        """Return the moment, in UTC, at which a day begins here."""
        return self.moment(datetime.combine(day, time()))

    def today(self) -> date:
        """Return the date on the wall here."""
        return self.local(self.now()).date()

    @property
    def book_file(self) -> Path | None:
        """Return where the book is, if it is a file."""
        return engines.file_of(self.database_url)

    @property
    def has_book(self) -> bool:
        """Return whether a book exists already (a book on a server always does).

        Raises
        ------
        OperationFailed
            If there is none any more.
        """
        if self.book_file is None or self.book_file.exists():
            return True
        self._refuse_where_a_book_was()
        return False

    def keeps(self, path: Path) -> bool:
        """Return whether a file is the studio's own, or where one of its own will be."""
        book = self.book_file
        places = [self.originals, self.home / "copies"]
        if book is not None:
            names = (book.name + end for end in ("", "-wal", "-shm", "-journal"))
            places += [book.parent / "copies", *(book.with_name(name) for name in names)]
        if os.path.lexists(path):
            places.append(self.home)
        real = Path(os.path.realpath(path))
        return any(_same(place, one) for one in (real, *real.parents) for place in places)

    @cached_property
    def engine(self) -> Engine:
        """The engine of the book, brought to the newest schema."""
        engine = engines.open_engine(self.database_url)
        path = engines.book_path(engine)
        if path is not None:
            if not path.exists():
                self._refuse_where_a_book_was()
            try:
                path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                if not path.exists():
                    path.touch(0o600)
                    make_private(path)
            except OSError as error:
                raise OperationFailed(
                    f"Cannot make a book in {path.parent}: {error.strerror}",
                    "Set BURNPLAN_HOME to a folder you can write in",
                ) from error
        try:
            upgraded = migrate.upgrade(
                engine, self.now(), self._refuse_where_a_book_was, self.renew_all
            )
        except BurnplanError:
            engine.dispose()
            raise
        if upgraded is not None:
            where = f"; a copy is at {upgraded.copy}" if upgraded.copy else ""
            self.notices.append(Sentence(f"The book was brought to a newer form{where}"))
        return engine

    def _refuse_where_a_book_was(self) -> None:
        """Keep a studio whose book went astray from beginning with an empty one.

        Raises
        ------
        OperationFailed
            If there are copies of a book, or photos, and no book.
        """
        from burnplan.ledger import backup  # a command that only looks needs it not

        path = self.book_file
        left = [] if self.begins_anew else backup.left_of(path, self.originals)
        if left:
            folders = " and ".join(map(str, left))
            raise OperationFailed(
                f"There is no book, or an empty one, and yet something of one in {folders}",
                f"To begin a new studio, move {folders} away first. ",
                *(backup.way_out(path) if path else backup.NO_COPY),
            )

    def renew_all(self, book: Session) -> None:
        """Bring what is kept of what follows up to date: the book is of an older form."""
        from burnplan.desk.derived import renewal  # brings numpy

        renewal.renew_all(book, self.now())

    def open(self) -> None:
        """Open the book now, and make it if there is none."""
        _ = self.engine

    def close(self) -> None:
        """Let go of the book, so that its folder can be removed."""
        if "engine" in self.__dict__:
            self.engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Open the book for looking."""
        with engines.transaction(self.engine, writing=False) as book:
            yield book

    @contextmanager
    def writing(self, action: str) -> Iterator[tuple[Session, Entry]]:
        """Open the book for one action: all of it happens, or none.

        Every row it changes goes into one history entry, so that the action
        can be undone. What follows from the facts is brought up to date before
        it commits: look at that afterwards. The first action of a day leaves a
        copy of the book.
        """
        from burnplan.desk.derived import renewal  # brings numpy

        self._keep_copy_of_the_day()
        with engines.transaction(self.engine, writing=True) as book:
            migrate.refuse_other_form(book)
            entry = Entry(action, history.Recorder(book).changes)
            yield book, entry
            book.flush()
            if entry.changes:
                renewal.renew(book, entry.changes, self.now())
                book.flush()
                book.add(
                    History(
                        at=self.now(),
                        action=entry.action,
                        summary=entry.summary,
                        commission_id=entry.commission_id,
                        changes=entry.changes,
                        undoes_id=entry.undoes_id,
                        author=self.author,
                    )
                )

    def _keep_copy_of_the_day(self) -> None:
        """Copy the book, once a day; work goes on if that fails."""
        from burnplan.ledger import backup, row_copies  # a command that only looks needs them not

        path = engines.book_path(self.engine)
        try:
            if path is None:
                row_copies.copy_of_the_day(self.engine, self.home, self.today(), self.now())
            else:
                backup.copy_of_the_day(path, self.today())
        except backup.Damaged as error:
            self.notices.append(error.sentence)
        except OperationFailed as error:
            said = Sentence("Today's copy of the book was not made: ", *error.sentence.parts)
            self.notices.append(said)


def _same(one: Path, other: Path) -> bool:
    """Return whether two paths lead to the same place, whatever they are called."""
    try:
        return one.samefile(other)
    except OSError:  # one is not there
        return os.path.realpath(one) == os.path.realpath(other)


def open_studio(
    home: Path | None = None,
    *,
    clock: Callable[[], datetime] = _system_now,
    zone: tzinfo | None = None,
) -> Studio:
    """Open the studio that the environment names.

    Parameters
    ----------
    home : Path, optional
        Its folder; else BURNPLAN_HOME, else the platform's data folder. With a
        folder given, the environment is not asked.
    clock, zone
        For tests and the demo.

    Raises
    ------
    BadInput
        If BURNPLAN_HOME is a file.
    """
    if home is not None:
        return Studio(home, engines.sqlite_url(home / "book.db"), clock, zone)
    home = own_home()
    url = os.environ.get("BURNPLAN_DATABASE_URL", "").strip()
    return Studio(home, url or engines.sqlite_url(home / "book.db"), clock, zone, _author())


def _author() -> str:
    """Return who works here: as BURNPLAN_NAME says, else the system's name for the user."""
    import getpass

    named = cleaned_line(os.environ.get("BURNPLAN_NAME", ""))
    try:
        return (named or cleaned_line(getpass.getuser()))[:60]
    except (OSError, KeyError):  # a user of a number only
        return ""
