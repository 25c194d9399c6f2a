"""What was put on record wrongly can be put right: sessions, clients, due dates, blanks."""

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from burnplan.desk.jobs import (
    checklists,
    clients,
    commissions,
    corrections,
    holding,
    references,
    review,
    sessions,
)
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import payments, quotes
from burnplan.desk.studio.studio import Studio
from burnplan.desk.wood import blanks, conditioning
from burnplan.desk.wood.blanks import BlankChange, NewBlank
from burnplan.errors import BadInput, NotAllowed, NotFound
from burnplan.units import MM_PER_INCH
from tests.desk import surfaces


def _job(studio: Studio, title: str, client: str | None = None) -> str:
    wishes = Wishes(title=title, client=client, size="12x9cm", species="basswood")
    return commissions.add(studio, wishes).code


def _done(studio: Studio, code: str) -> float:
    return next(one.hours_done for one in review.review(studio) if one.code == code)


@pytest.mark.long
def test_a_session_is_moved_to_the_job_it_was_on(studio: Studio) -> None:
    fox, owl = _job(studio, "Fox"), _job(studio, "Owl")
    sessions.log(studio, fox, timedelta(hours=2), sessions.Doing(tip="shader"))
    moved = corrections.correct(studio, 1, corrections.Correction(job=owl), "wrong job")
    assert (moved.code, moved.tip, moved.hours) == (owl, "shader", 2)
    assert (_done(studio, fox), _done(studio, owl)) == (0, 2)
    surfaces.agree(studio, ["move"])
    undo.undo_last(studio)
    assert (_done(studio, fox), _done(studio, owl)) == (2, 0)


def test_what_was_right_of_a_session_is_not_asked_again_of_the_piece_of_today(
    studio: Studio, tmp_path: Path
) -> None:
    fox, photo = _job(studio, "Fox"), tmp_path / "ramp.png"
    ramp = np.tile(np.linspace(0, 255, 240, dtype=np.uint8), (180, 1))
    Image.fromarray(ramp).save(photo)
    references.add(studio, fox, photo, zones=5)
    sessions.log(studio, fox, timedelta(hours=2), sessions.Doing(zone=5))
    references.add(studio, fox, photo, zones=3)
    right = corrections.Correction(length=timedelta(hours=1))
    made = corrections.correct(studio, 1, right, "slip")
    assert (made.zone, made.hours) == (5, 1)
    with pytest.raises(BadInput, match="no zone 4"):
        corrections.correct(studio, 2, corrections.Correction(zone=4), "slip")
    # It was no burning: then it was of no zone either, unless that is said.
    made = corrections.correct(studio, 2, corrections.Correction(work="finish"), "slip")
    assert (made.work, made.zone) == ("finish", None)
    said = corrections.Correction(work="transfer", zone=2)
    assert corrections.correct(studio, 3, said, "slip").zone == 2


def test_a_figure_that_is_no_number_names_no_step(studio: Studio) -> None:
    with pytest.raises(NotFound, match="no step '²'"):
        checklists.tick(studio, _job(studio, "Fox"), ["²"])


def test_a_session_is_taken_off_its_zone(studio: Studio) -> None:
    fox = _job(studio, "Fox")
    sessions.log(studio, fox, timedelta(hours=1), sessions.Doing(zone=2, tip="shader"))
    made = corrections.correct(studio, 1, corrections.Correction(no_zone=True), "all over")
    assert (made.work, made.zone, made.tip, made.hours) == ("burn", None, "shader", 1)


def test_a_session_that_never_was_is_taken_out_with_what_it_corrected(studio: Studio) -> None:
    fox = _job(studio, "Fox")
    sessions.log(studio, fox, timedelta(hours=2), sessions.Doing())
    corrections.correct(studio, 1, corrections.Correction(length=timedelta(hours=1)), "slip")
    with pytest.raises(NotAllowed, match="session 2"):
        corrections.remove(studio, 1, "never was")
    corrections.remove(studio, 2, "never was")
    assert sessions.all_of(studio, fox, replaced=True) == []
    assert "never was" in undo.happenings(studio)[0].summary
    undo.undo_last(studio)
    assert [one.number for one in sessions.all_of(studio, fox, replaced=True)] == [2, 1]
    with pytest.raises(NotFound):
        corrections.remove(studio, 9, "never was")


def test_a_due_date_is_cleared(studio: Studio) -> None:
    fox = _job(studio, "Fox")
    commissions.edit(studio, fox, Wishes(due=studio.today() + timedelta(days=9)))
    assert commissions.edit(studio, fox, Wishes(no_due=True)).due is None


def test_a_name_as_it_is_spelt_comes_before_one_that_reads_alike(studio: Studio) -> None:
    for name in ("Anna Weiss", "Anna Weiß"):
        clients.add(studio, name, clients.ClientDetails())
    assert clients.show(studio, "Anna Weiß").name == "Anna Weiß"
    with pytest.raises(NotFound, match="could be"):
        clients.show(studio, "anna weiss")


def test_a_code_that_nobody_has_is_no_name_of_a_new_client(studio: Studio) -> None:
    with pytest.raises(BadInput, match="No client has the code P-77"):
        commissions.add(studio, Wishes(title="Fox", client="P-77"))
    clients.add(studio, "Mara", clients.ClientDetails())
    with pytest.raises(BadInput, match="No client has the code P-2"):
        clients.edit(studio, "Mara", clients.ClientDetails(), "P-2")
    assert clients.edit(studio, "Mara", clients.ClientDetails(note="x"), "mara").name == "mara"
    assert undo.undo_last(studio).summary == "Changed client mara: name, note"
    clients.remove(studio, "Mara")
    assert clients.doubt(studio, "p-77") == ""


def test_two_clients_who_are_one_are_merged(studio: Studio) -> None:
    clients.add(studio, "Mara Lindquist", clients.ClientDetails(email="mara@example.org"))
    clients.add(studio, "Mara Lindqvist", clients.ClientDetails(phone="12 34"))
    fox = _job(studio, "Fox", "Mara Lindquist")
    conditioning.note_air(studio, "21C 40%", "Mara Lindquist")
    kept = clients.merge(studio, "P-1", "P-2")
    assert (kept.name, kept.email, kept.phone, kept.commissions) == (
        "Mara Lindqvist", "mara@example.org", "12 34", 1,
    )  # fmt: skip
    assert commissions.show(studio, fox).client == "Mara Lindqvist"
    assert [one.code for one in clients.everyone(studio)] == ["P-0002"]
    with pytest.raises(BadInput, match="one client already"):
        clients.merge(studio, "P-2", "Mara Lindqvist")
    undo.undo_last(studio)
    assert commissions.show(studio, fox).client == "Mara Lindquist"
    assert len(clients.everyone(studio)) == 2


def test_only_a_client_without_jobs_is_removed(studio: Studio) -> None:
    fox = _job(studio, "Fox", "Mara")
    with pytest.raises(NotAllowed, match="1 job"):
        clients.remove(studio, "Mara")
    clients.add(studio, "Bo", clients.ClientDetails())
    conditioning.note_air(studio, "21C 40%", "Bo")
    assert clients.remove(studio, "P-2") == "Bo"
    assert [one.name for one in clients.everyone(studio)] == ["Mara"]
    assert commissions.show(studio, fox).client == "Mara"


def test_a_client_is_shown_with_what_they_paid_and_owe(studio: Studio) -> None:
    fox, owl = _job(studio, "Fox", "Mara"), _job(studio, "Owl", "Mara")
    quotes.issue(studio, fox, quotes.QuoteRequest(hours=4, price="200"))
    payments.take(studio, fox, "60", "deposit")
    found = clients.show(studio, "Mara")
    assert (found.code, [one.code for one in found.jobs]) == ("P-0001", [owl, fox])
    assert found.jobs[1].received == 60
    assert found.jobs[1].balance == 140
    assert found.jobs[0].balance == 0


def test_a_blank_is_put_right(studio: Studio) -> None:
    blanks.add(studio, NewBlank(species="basswood", size="12x9cm", cost="8", thickness="18mm"))
    change = BlankChange(cost="9.50", thickness="1/2in", location="shelf 2", size="13x9cm")
    made = blanks.edit(studio, "B-1", change)
    assert (made.size_mm, made.location) == ((130, 90), "shelf 2")
    assert made.cost is not None
    assert float(made.cost) == 9.5
    assert made.thickness_mm == pytest.approx(MM_PER_INCH / 2)
    assert blanks.edit(studio, "B-1", BlankChange(cost="", thickness="")).cost is None
    fox = _job(studio, "Fox")
    holding.hold(studio, "B-1", fox)
    blanks.edit(studio, "B-1", BlankChange(note="a knot at the rim"))
    with pytest.raises(NotAllowed, match="planned for its size"):
        blanks.edit(studio, "B-1", BlankChange(size="12x9cm"))
