"""Two programs at once, older and newer books: each waits its turn or says why it will not."""

import multiprocessing
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, timedelta
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import text

from burnplan.desk.jobs import checklists, clients, commissions, sessions
from burnplan.desk.jobs.clients import ClientDetails
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import payments
from burnplan.desk.studio.studio import Studio, open_studio
from burnplan.errors import BurnplanError
from burnplan.ledger import migrate
from tests import books
from tests.faults.conftest import Say, Tell, one_line
from tests.faults.killing import OLD_SCHEMA, START, check_left, state

pytestmark = books.about_files

NOW = START + timedelta(days=3)
Work = Callable[[Studio, int], None]


def together(home: Path, work: Work, terminals: int = 2) -> list[str]:
    """Let some programs, each a process, do something at the same time; return what they said."""
    context = multiprocessing.get_context("fork")
    gate, said = context.Barrier(terminals), context.Queue()
    programs = [
        context.Process(target=_terminal, args=(home, work, number, gate, said))
        for number in range(terminals)
    ]
    for program in programs:
        program.start()
    words = [said.get(timeout=60) for _ in programs]
    for program in programs:
        program.join(60)
    return sorted(words)


def _terminal(
    home: Path,
    work: Work,
    number: int,
    gate: Any,
    said: Any,
) -> None:
    studio = open_studio(home, clock=lambda: NOW, zone=UTC)
    gate.wait(60)
    try:
        work(studio, number)
        words = ""
    except BurnplanError as error:
        words = error.message
    except BaseException as error:  # noqa: BLE001 told to the test
        words = repr(error)
    studio.close()
    said.put(words)


@pytest.mark.long
def test_two_terminals_tick_other_steps_at_once(home: Path, fault: Tell) -> None:
    with closing(open_studio(home, clock=lambda: NOW, zone=UTC)) as studio:
        before = {step.key: step.state for step in checklists.of(studio, "Stoat").steps}
        keys = [key for key, state in before.items() if state == "open"][:10]

    def tick(studio: Studio, number: int) -> None:
        for key in keys[number::2]:
            checklists.tick(studio, "Stoat", [key])

    assert together(home, tick) == ["", ""]
    with closing(open_studio(home, clock=lambda: NOW, zone=UTC)) as studio:
        now = {step.key: step.state for step in checklists.of(studio, "Stoat").steps}
        assert now == before | dict.fromkeys(keys, "ticked")
        entries = [one for one in undo.happenings(studio) if one.action == "step.tick"]
        assert len(entries) >= len(keys)
        for _ in keys:
            undo.undo_last(studio)
        now = {step.key: step.state for step in checklists.of(studio, "Stoat").steps}
        assert now == before
    check_left(home, "two terminals")
    fault("two terminals tick 10 steps at once", "each its line", "10 ticked, 10 undone")


@pytest.mark.long
def test_two_terminals_do_the_same_at_once(home: Path, fault: Tell) -> None:
    def tick(studio: Studio, _number: int) -> None:
        for _ in range(5):
            checklists.tick(studio, "Stoat", ["1"])

    assert together(home, tick) == ["", ""]

    def add(studio: Studio, number: int) -> None:
        for count in range(5):
            commissions.add(studio, Wishes(title=f"Newt {number}.{count}"))
            payments.take(studio, f"Newt {number}.{count}", "1", "payment")

    assert together(home, add, terminals=3) == ["", "", ""]

    def same_name(studio: Studio, _number: int) -> None:
        clients.add(studio, "Zoe Quist", ClientDetails())

    assert together(home, same_name) == ["", "There is a client 'Zoe Quist' already"]

    def start(studio: Studio, _number: int) -> None:
        sessions.start(studio, "Owl in ivy", sessions.Doing())

    with closing(open_studio(home, clock=lambda: NOW, zone=UTC)) as studio:
        sessions.stop(studio)
    first, second = together(home, start)
    assert first == ""
    assert "The clock is running" in second
    check_left(home, "two terminals")
    fault("two terminals add, and start the clock", second, "15 codes, one client, one clock")


def test_two_terminals_make_the_first_book(tmp_path: Path, fault: Tell) -> None:
    def add(studio: Studio, number: int) -> None:
        clients.add(studio, f"Client {number}", ClientDetails())

    assert together(tmp_path / "home", add) == ["", ""]
    with closing(open_studio(tmp_path / "home")) as studio:
        assert [client.name for client in clients.everyone(studio)] == ["Client 0", "Client 1"]
    check_left(tmp_path / "home", "first book")
    fault("two terminals make the first book", "", "one book, both clients")


@pytest.mark.whole
def test_two_terminals_bring_an_old_book_up(home: Path, fault: Tell) -> None:
    _make_old(home)

    def add(studio: Studio, number: int) -> None:
        clients.add(studio, f"Client {number}", ClientDetails())

    assert together(home, add) == ["", ""]
    with closing(open_studio(home)) as studio:
        names = [client.name for client in clients.everyone(studio)]
    assert {"Client 0", "Client 1", "Ada Berg"} <= set(names)
    check_left(home, "two migrations")
    assert list((home / "copies").glob("*-schema-*.db"))
    fault("two terminals migrate an old book", "", "migrated once, a copy kept")


def _make_old(home: Path) -> None:
    with closing(open_studio(home, clock=lambda: NOW, zone=UTC)) as studio:
        migrate.migrate_to(studio.engine, OLD_SCHEMA)


def test_another_program_changes_the_form_of_an_open_book(home: Path, fault: Tell) -> None:
    """It is said so, and not that the book is damaged, whatever is looked for in it."""
    with (
        closing(open_studio(home, clock=lambda: NOW, zone=UTC)) as studio,
        closing(sqlite3.connect(home / "book.db")) as newer,
    ):
        studio.open()
        newer.execute("ALTER TABLE client RENAME COLUMN name TO full_name")
        newer.execute("UPDATE alembic_version SET version_num = '9999'")
        newer.commit()
        before = state(home)
        for look_or_write in (
            lambda: clients.everyone(studio),
            lambda: clients.add(studio, "Zoe", ClientDetails()),
        ):
            with pytest.raises(BurnplanError, match="changed the form of the book") as refused:
                look_or_write()
        assert state(home) == before
    fault("migrated while it is open", str(refused.value), "not touched, and not called damaged")


@pytest.mark.long
def test_a_migration_that_fails_half_way(
    home: Path, say: Say, fault: Tell, monkeypatch: pytest.MonkeyPatch
) -> None:
    _make_old(home)
    before = state(home)
    upgrade = command.upgrade

    def half(config: Config, _target: str) -> None:
        upgrade(config, "0009")
        config.attributes["connection"].execute(text("DROP TABLE no_such_table"))

    monkeypatch.setattr(command, "upgrade", half)
    said = one_line(say(home, "jobs"))
    assert state(home) == before
    monkeypatch.undo()
    assert say(home, "jobs")[0] == 0
    fault("a migration interrupted", said, "as it was; done the next time")


def test_a_newer_book(home: Path, say: Say, fault: Tell) -> None:
    with closing(sqlite3.connect(home / "book.db")) as book:
        book.execute("UPDATE alembic_version SET version_num = '9999'")
        book.commit()
    before = state(home)
    for arguments in (["jobs"], ["commission", "add", "Newt"], ["undo"], ["check"]):
        said = one_line(say(home, *arguments))
        assert "newer burnplan" in said
    assert state(home) == before
    fault("a newer book, an older program", said, "not touched")
