"""The history sees every row that changes, whoever names it."""

from dataclasses import replace
from datetime import timedelta

import pytest

from burnplan.desk.derived import renewal
from burnplan.desk.jobs import checklists, clients, commissions, sessions
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.errors import NotAllowed
from burnplan.ledger import engines, history
from burnplan.ledger.models import Blank, BurnSession, Client, Commission, History, Step
from burnplan.reckon import checklist
from burnplan.reckon.checklist import ChecklistJob, StepPlan
from tests.desk.test_whole_line import contents


def _changes(studio: Studio) -> list[tuple[str, bool, bool]]:
    """Return each row of the newest entry: its table, whether it was there, whether it is."""
    with studio.reading() as book:
        newest = book.query(History).order_by(History.id.desc()).first()
        assert newest is not None
        return [
            (c["table"], c["before"] is not None, c["after"] is not None) for c in newest.changes
        ]


def test_rows_taken_out_of_their_parent_come_back(studio: Studio) -> None:
    blanks.add(studio, blanks.NewBlank(species="basswood", size="20x15cm", grit=120))
    before = contents(studio)
    with studio.writing("test") as (book, _):
        blank = book.get_one(Blank, 1)
        blank.sandings.remove(blank.sandings[0])  # an orphan: nobody deletes it by name
    assert _changes(studio) == [("sanding", True, False)]
    assert contents(studio) != before
    undo.undo_last(studio)
    assert contents(studio) == before


def test_rows_that_go_with_their_parent_come_back(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    sessions.log(studio, "Fox", timedelta(hours=1), sessions.Doing())
    before = contents(studio)
    with studio.writing("test") as (book, _):
        book.delete(book.get_one(BurnSession, 1))
    assert _changes(studio) == [("session_interval", True, False), ("burn_session", True, False)]
    undo.undo_last(studio)
    assert contents(studio) == before


def test_keys_set_by_a_relationship_go_back(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox", client="Ada"))
    commissions.add(studio, Wishes(title="Owl"))
    before = contents(studio)
    with studio.writing("test") as (book, _):
        book.get_one(Commission, 2).client = book.get_one(Client, 1)
        book.get_one(Commission, 1).client = None
    undo.undo_last(studio)
    assert contents(studio) == before


def test_several_changes_of_one_row_in_one_action_go_back(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    before = contents(studio)
    with studio.writing("test") as (book, _):
        fox = book.get_one(Commission, 1)
        for title in ("Wolf", "Bear", "Hare"):
            fox.title = title
            book.flush()
    assert len(_changes(studio)) == 3
    undo.undo_last(studio)
    assert contents(studio) == before


def test_what_hangs_on_a_row_keeps_it_from_being_undone(studio: Studio) -> None:
    clients.add(studio, "Ada", clients.ClientDetails())
    commissions.add(studio, Wishes(title="Fox", client="Ada"))
    before = contents(studio)
    with engines.transaction(studio.engine, writing=True) as book:
        added = book.query(History).order_by(History.id).first()
        assert added is not None
        with pytest.raises(NotAllowed, match="something done since hangs on it"):
            history.reverse(book, added)
        book.rollback()
    assert contents(studio) == before


def _opened_by_a_newer_program(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the checklists be worded anew, and have a step more and one under a new name."""
    asked = checklist.steps_for

    def newer(job: ChecklistJob) -> tuple[StepPlan, ...]:
        first, *others = (replace(step, text=f"{step.text}!") for step in asked(job))
        return first, replace(first, key="new"), replace(others[0], key="renamed"), *others[1:]

    monkeypatch.setattr(checklist, "steps_for", newer)
    with engines.transaction(studio.engine, writing=True) as book:
        renewal.renew_all(book, studio.now())


@pytest.mark.long
def test_steps_worded_anew_are_nobodys_later_change(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    checklists.tick(studio, "Fox", ["4"])
    commissions.edit(studio, "Fox", Wishes(size="20x15cm"))
    before = contents(studio)
    _opened_by_a_newer_program(studio, monkeypatch)
    assert contents(studio)["step"] != before["step"]
    for summary in ("Changed 'Fox'", "Ticked", "Logged 'Fox'"):
        assert undo.undo_last(studio).summary.startswith(summary)
    assert not any(contents(studio)[table] for table in ("step", "commission"))
    for _ in range(3):
        undo.redo_last(studio)
    found = checklists.of(studio, "Fox").steps
    states = [step.state for step in found]
    assert states.count("ticked") == 1
    assert all(step.text.endswith("!") for step in found if step.state == "open")


def test_what_is_the_artists_own_on_a_step_is_theirs(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    commissions.add(studio, Wishes(title="Fox"))
    with engines.transaction(studio.engine, writing=True) as book:  # as if by another program
        book.query(Step).order_by(Step.position.desc()).first().ticked_at = studio.now()  # type: ignore[union-attr]
    with pytest.raises(NotAllowed, match="cannot be undone"):
        undo.undo_last(studio)
    checklists.add(studio, "Fox", "Sign the back", "finish")
    with engines.transaction(studio.engine, writing=True) as book:
        book.query(Step).filter(Step.own).one().text = "Sign the front"
    with pytest.raises(NotAllowed, match="changed again since"):
        undo.undo_last(studio)
