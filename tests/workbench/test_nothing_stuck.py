"""What went wrong is put right at the workbench: sessions, clients, dates, blanks."""

from datetime import timedelta
from decimal import Decimal

import pytest

from burnplan.desk.jobs import clients, commissions, sessions
from burnplan.desk.jobs.clients import ClientDetails
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks
from burnplan.errors import NotFound
from burnplan.workbench.forms import Choice
from tests.workbench.hand import BASSWOOD, Hand, at_work, barn


def _session(studio: Studio, code: str, length: float = 2.0) -> int:
    return sessions.log(
        studio, code, timedelta(hours=length), sessions.Doing(work="transfer")
    ).number


@pytest.mark.long
def test_a_session_is_moved_to_the_job_it_was_on(studio: Studio) -> None:
    code, number = barn(studio), _session(studio, "C-1")
    fox = commissions.add(studio, Wishes(title="Fox")).code

    async def desk(hand: Hand) -> None:
        await hand.press("2")
        await hand.do("correct_session")  # no job is shown: nothing happens
        assert not isinstance(hand.app.screen, Choice)
        hand.app.open_job(code)
        await hand.settle()
        await hand.do("correct_session")
        await hand.press("enter")
        await hand.fill(reason="wrong job")
        assert "Nothing is said that was wrong" in hand.question("#wrong")
        await hand.fill(job=fox, length="1h30", reason="")
        assert "reason is empty" in hand.question("#wrong")
        await hand.fill(reason="wrong job")

    at_work(studio, desk)
    assert sessions.all_of(studio, code) == []
    (moved,) = sessions.all_of(studio, fox)
    assert (moved.hours, moved.work, moved.number) == (1.5, "transfer", number + 1)


@pytest.mark.long
def test_a_zone_that_is_emptied_is_none(studio: Studio) -> None:
    code = barn(studio)
    sessions.log(studio, code, timedelta(hours=1), sessions.Doing(zone=2))

    async def desk(hand: Hand) -> None:
        hand.app.open_job(code)
        await hand.settle()
        await hand.do("correct_session")
        await hand.press("enter")
        await hand.fill(zone="", reason="all over")

    at_work(studio, desk)
    (made,) = sessions.all_of(studio, code)
    assert (made.work, made.zone, made.hours) == ("burn", None, 1)


@pytest.mark.long
def test_a_session_that_never_was_is_taken_out(studio: Studio) -> None:
    code = barn(studio)
    kept, wrong = _session(studio, code), _session(studio, code, 9)

    async def desk(hand: Hand) -> None:
        hand.app.open_job(code)
        await hand.settle()
        await hand.do("remove_session")
        rows = hand.app.screen
        assert isinstance(rows, Choice)
        await hand.press("enter" if rows.choices[0][0] == str(wrong) else "down")
        if isinstance(hand.app.screen, Choice):
            await hand.press("enter")
        await hand.fill(reason="entered twice")
        assert any(f"Session {wrong} is out" in words for words in hand.said)

    at_work(studio, desk)
    assert [one.number for one in sessions.all_of(studio, code)] == [kept]
    undo.undo_last(studio)
    assert len(sessions.all_of(studio, code)) == 2


@pytest.mark.long
def test_two_clients_who_are_one_are_merged_and_an_unused_one_removed(studio: Studio) -> None:
    commissions.add(studio, Wishes(title="Owl", client="Anna Berg"))
    commissions.add(studio, Wishes(title="Fox", client="A. Berg"))
    clients.add(studio, "Zed", ClientDetails())

    async def desk(hand: Hand) -> None:
        await hand.press("4")
        assert hand.lines("#clients-list")[0].startswith("P-0002")  # A. Berg
        await hand.press("x")
        assert any("A. Berg has 1 job" in words for words in hand.said)
        await hand.press("m", "enter")
        assert [line.split()[0] for line in hand.lines("#clients-list")] == ["P-0001", "P-0003"]
        await hand.press("down", "x")
        assert [line.split()[0] for line in hand.lines("#clients-list")] == ["P-0001"]

    at_work(studio, desk)
    assert clients.show(studio, "Anna Berg").commissions == 2
    with pytest.raises(NotFound):
        clients.show(studio, "Zed")


@pytest.mark.long
def test_a_client_is_added_and_changed(studio: Studio) -> None:
    async def desk(hand: Hand) -> None:
        await hand.press("4", "a")
        await hand.fill(name="", email="x")
        assert "name is empty" in hand.question("#wrong")
        await hand.fill(name="Ines", email="ines@example.org")
        await hand.press("e")
        await hand.fill(phone="030 1")
        assert "030 1" in hand.lines("#clients-list")[0]

    at_work(studio, desk, (120, 40))
    one = clients.show(studio, "Ines")
    assert (one.email, one.phone) == ("ines@example.org", "030 1")


@pytest.mark.long
def test_a_client_s_jobs_are_shown_with_what_is_paid_and_owed(studio: Studio) -> None:
    code = barn(studio)
    quotes.issue(studio, code, quotes.QuoteRequest(hours=10, price="300"))
    accepting.accept(studio, code)
    payments.take(studio, code, "100", "deposit")
    assert clients.show(studio, "Mara").jobs[0].balance == Decimal(200)

    async def desk(hand: Hand) -> None:
        await hand.press("4", "enter")
        choice = hand.app.screen
        assert isinstance(choice, Choice)
        assert "100.00, owes" in choice.choices[0][1].plain
        assert "200.00" in choice.choices[0][1].plain
        await hand.press("enter")
        assert hand.app.page_name == "job"

    at_work(studio, desk)


@pytest.mark.long
def test_a_due_date_is_cleared(studio: Studio) -> None:
    code = barn(studio)
    commissions.edit(studio, code, Wishes(due=studio.today() + timedelta(days=9)))

    async def desk(hand: Hand) -> None:
        hand.app.open_job(code)
        await hand.settle()
        await hand.press("e")
        await hand.fill(due="")

    at_work(studio, desk)
    assert commissions.show(studio, code).due is None


@pytest.mark.long
def test_a_blank_is_put_right(studio: Studio) -> None:
    code = blanks.add(studio, BASSWOOD).code

    async def desk(hand: Hand) -> None:
        await hand.press("3", "e")
        await hand.fill(size="large")
        assert "not a size" in hand.question("#wrong")
        await hand.fill(size="30x40cm", thickness="2cm", cost="", species="bascwood")
        assert any("Did you mean basswood?" in words for words in hand.said)
        await hand.press("e")
        await hand.fill(species="basswood", location="shelf 2")

    at_work(studio, desk)
    one = blanks.show(studio, code)
    assert (one.size_mm, one.thickness_mm, one.cost) == ((300, 400), 20, None)
    assert (one.species, one.location) == ("basswood", "shelf 2")
