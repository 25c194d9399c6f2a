"""Ways in which a home is damaged, and what must be possible afterwards.

A book is damaged in a home that has a copy of it. Whatever is asked of the program then
ends in an answer or in one line; and where that names a command, the command puts a sound
book in place. tests/soak/damages.py does so thousands of times.
"""

import io
import json
import os
import random
import shlex
import shutil
import sqlite3
import traceback
from collections.abc import Callable
from contextlib import closing, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Literal

from burnplan.cli import app as program
from burnplan.desk.studio.studio import open_studio
from burnplan.ledger import backup, soundness
from tests.faults.killing import Counter, copied, state

PAGE = 4096

Damage = Callable[[random.Random, Path], None]


# --- ways to damage ------------------------------------------------------------------------


def _book(home: Path) -> Path:
    return home / "book.db"


def _rewritten(home: Path, change: Callable[[bytearray], None]) -> None:
    data = bytearray(_book(home).read_bytes())
    change(data)
    _book(home).write_bytes(data)


def flipped_bits(dice: random.Random, home: Path) -> None:
    """Turn over one to twenty bits, anywhere."""

    def flip(data: bytearray) -> None:
        for _ in range(dice.choice((1, 1, 1, 3, 20))):
            data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)

    _rewritten(home, flip)


def flipped_head(dice: random.Random, home: Path) -> None:
    """Turn over a bit of the file's head, or of the description of its tables."""

    def flip(data: bytearray) -> None:
        data[dice.randrange(dice.choice((100, PAGE, 5 * PAGE)))] ^= 1 << dice.randrange(8)

    _rewritten(home, flip)


def truncated(dice: random.Random, home: Path) -> None:
    """Cut the end off: anywhere, at a page, or all of it."""
    size = _book(home).stat().st_size
    length = dice.choice((dice.randrange(size), dice.randrange(size // PAGE) * PAGE, 0, 100))
    os.truncate(_book(home), length)


def zeroed_pages(dice: random.Random, home: Path) -> None:
    """Zero some pages, as a file system does that lost them."""

    def zero(data: bytearray) -> None:
        for _ in range(dice.choice((1, 1, 4))):
            at = dice.randrange(len(data) // PAGE) * PAGE
            data[at : at + PAGE] = bytes(PAGE)

    _rewritten(home, zero)


def random_pages(dice: random.Random, home: Path) -> None:
    """Put noise, or another page, in the place of some."""

    def replace(data: bytearray) -> None:
        at, other = (dice.randrange(len(data) // PAGE) * PAGE for _ in range(2))
        noise = dice.random() < 0.5
        data[at : at + PAGE] = dice.randbytes(PAGE) if noise else data[other : other + PAGE]

    _rewritten(home, replace)


def another_file(dice: random.Random, home: Path) -> None:
    """Put another file in the place of the book: a photo, a package, text, a strange database."""
    kind = dice.choice(("photo", "text", "database", "empty database", "zeros"))
    book = _book(home)
    book.unlink()
    if kind == "photo":
        shutil.copy(dice.choice(sorted((home / "originals").glob("*/*"))), book)
    elif kind == "text":
        book.write_text("title,finished_on\n" * dice.randint(1, 400))
    elif kind == "zeros":
        book.write_bytes(bytes(dice.randint(1, 100_000)))
    else:
        with closing(sqlite3.connect(book)) as other:
            if kind == "database":
                other.execute("CREATE TABLE songs (title)")
            other.execute("PRAGMA user_version=7")
            other.commit()


def no_file(dice: random.Random, home: Path) -> None:
    """Put a folder, a pipe or a dead link in the place of the book, or nothing."""
    book = _book(home)
    book.unlink()
    match dice.choice(("folder", "full folder", "pipe", "dead link", "nothing")):
        case "folder":
            book.mkdir()
        case "full folder":
            (book / "x").mkdir(parents=True)
            (book / "x" / "y").write_text("mine")
        case "pipe":
            os.mkfifo(book)
        case "dead link":
            book.symlink_to(home / "no such place" / "book.db")


def strange_log(dice: random.Random, home: Path) -> None:
    """Leave a log that is none, or is not this book's, beside it."""
    part = _book(home).with_name(f"book.db-{dice.choice(('wal', 'shm', 'journal'))}")
    kind = dice.choice(("folder", "noise", "zeros"))
    if kind == "folder":
        part.mkdir()
    else:
        part.write_bytes(dice.randbytes(40_000) if kind == "noise" else bytes(40_000))
        part.chmod(0o600)  # that others could read it is another matter


_UPDATES = (
    "DELETE FROM alembic_version",
    "UPDATE alembic_version SET version_num = NULL",
    "UPDATE alembic_version SET version_num = '000A'",
    "UPDATE alembic_version SET version_num = '8009'",
    "UPDATE alembic_version SET version_num = '0001'",
    "UPDATE alembic_version SET version_num = x'ff'",
    "DROP TABLE alembic_version",
    "UPDATE history SET at = 'once'",
    "UPDATE history SET at = '2027-02-31 09:00:00.000000'",
    "UPDATE history SET at = CAST(x'323032372d30ff' AS TEXT)",
    "UPDATE history SET changes = '{'",
    "UPDATE client SET name = CAST(x'4d61ff' AS TEXT) WHERE id = 1",
    "UPDATE commission SET added_at = 0",
    "UPDATE studio SET currency = NULL",
)


_NOTHING_NEEDED = (
    "UPDATE sqlite_master SET sql = replace(sql, ' NOT NULL', '') WHERE type = 'table'"
)


def changed_by_hand(dice: random.Random, home: Path) -> None:
    """Change the book with another program, which minds no rules."""
    with closing(sqlite3.connect(_book(home), isolation_level=None)) as book:
        book.execute("PRAGMA ignore_check_constraints=ON")
        tables = [
            row[0] for row in book.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ]
        if dice.random() < 0.6:
            script = dice.choice(_UPDATES)
        else:
            script = f'DROP TABLE "{dice.choice(tables)}"'
        if "= NULL" in script:  # what the description of a table forbids, another may hold
            book.execute("PRAGMA writable_schema=ON")
            book.execute(_NOTHING_NEEDED)
            book.execute("PRAGMA writable_schema=RESET")
        book.execute(script)


def changed_rules(dice: random.Random, home: Path) -> None:
    """Change the description of a table, so that the book keeps other rules."""
    changes = (("> 0", "> 8"), ("NOT NULL", "NUT NULL"), ("REFERENCES client", "REFERENCES blient"))
    old, new = dice.choice(changes)
    with closing(sqlite3.connect(_book(home), isolation_level=None)) as book:
        book.execute("PRAGMA writable_schema=ON")
        book.execute("UPDATE sqlite_master SET sql = replace(sql, ?, ?)", (old, new))


DAMAGES: tuple[Damage, ...] = (
    flipped_bits, flipped_head, truncated, zeroed_pages, random_pages, another_file, no_file,
    strange_log, changed_by_hand, changed_rules,
)  # fmt: skip


# --- what must be possible -----------------------------------------------------------------

Outcome = Literal["restored", "harmless", "unseen"]


@dataclass(frozen=True)
class Said:
    """What a command ended with."""

    code: int
    out: str
    err: str


def said(home: Path, *arguments: str) -> Said:
    """Run a command in a home, as the program does.

    Raises
    ------
    AssertionError
        If it ends in anything but an answer or one line that says what is wrong.
    """
    studio = open_studio(home, clock=lambda: datetime(2027, 3, 23, 9, tzinfo=UTC), zone=UTC)
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = program.run(list(arguments), studio)
        studio.close()
    told = Said(code, out.getvalue(), err.getvalue())
    assert code in (0, 1, 2), told
    if code and not told.out:
        assert "burnplan: " in told.err, told
        assert told.err.splitlines()[-1].startswith("burnplan: "), told
    return told


def command_in(text: str) -> list[str] | None:
    """Return the command that a text ends with, if it names one to put a copy in place."""
    at = text.rfind("burnplan restore ")
    if at < 0:
        return None
    line = text[at:].splitlines()[0].rstrip(".")
    words = shlex.split(line)[1:]
    return words if Path(words[1]).exists() else None


LOOKING = (["jobs"], ["client", "list"], ["history"])
WRITING = ["client", "add", "Zoe Quist"]


def recover(home: Path, good: str) -> Outcome:
    """Look what can be done with a damaged home.

    Parameters
    ----------
    home : Path
        With a sound copy of the book.
    good : str
        The state of the book in the copy, and of the book before it was damaged.

    Raises
    ------
    AssertionError
        If anything ends otherwise than in words, or the book cannot be restored.
    """
    told = [said(home, *arguments) for arguments in LOOKING]
    checked = said(home, "check", "--json")
    report = json.loads(checked.out) if checked.out else None
    told.append(said(home, "backup", str(home.parent / f"{home.name}.zip"), "--replace"))
    remedies = [one["remedy"] for one in report["findings"]] if report else [checked.err]
    commands = [found for text in remedies if (found := command_in(text))]
    if checked.code == 0:
        assert not any(one.code for one in told), (told, "and check finds nothing")
        return "harmless" if state(home) == good else "unseen"
    assert commands, (checked, "names no way out")
    for one in told:
        assert one.code == 0 or command_in(one.err) is not None, (one, "names no way out")
    before = _worth_keeping(_book(home))
    done = said(home, *commands[0], "--yes", "--json")
    assert done.code == 0, done
    assert state(home) == good, "another book than that of the copy"
    aside = json.loads(done.out)["aside"]
    if before:
        assert aside is not None, "what stood there is lost"
        assert Path(aside).read_bytes() == before or not soundness.damage(Path(aside)), "changed"
    assert said(home, "check").code == 0
    assert said(home, *WRITING).code == 0
    return "restored"


def _worth_keeping(path: Path) -> bytes:
    """Return what is in a file; nothing for a database without tables."""
    if not path.is_file() or (not soundness.damage(path) and soundness.is_empty(path)):
        return b""
    return path.read_bytes()


def furnished_with_a_copy(furnished: Path, target: Path) -> str:
    """Make a home whose newest copy is of the book as it is; return its state."""
    copied(furnished, target)
    backup.copy_of_the_day(target / "book.db", date(2027, 3, 22))
    return state(target)


def killed_at(point: int, do: Callable[[], object]) -> bool:
    """Do something in a process that is killed at its so-manieth write; return whether it was."""
    pid = os.fork()
    if pid == 0:
        try:
            Counter(point).arm()
            do()
            os._exit(0)
        except BaseException:  # noqa: BLE001 nothing of the parent's may run in the child
            traceback.print_exc()
            os._exit(1)
    _, status = os.waitpid(pid, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0
    return os.WIFSIGNALED(status)
