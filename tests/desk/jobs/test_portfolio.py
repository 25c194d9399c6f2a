"""The portfolio: only what clients agreed to, named only where they did, and taken back."""

from datetime import timedelta
from pathlib import Path

import pytest

from burnplan.desk.jobs import commissions, consents, endings, photos, portfolio
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.jobs.consents import ConsentGiven, ConsentView
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotAllowed, NotFound
from tests.conftest import FixedClock, draw_photo

YES = ConsentGiven(answer="yes", how="in a mail")


@pytest.fixture
def piece(studio: Studio, photo: Path) -> str:
    """A piece that was handed over, with a photo."""
    wishes = Wishes(title="Two cats", client="Mara Berg", size="9x11cm", species="basswood")
    code = commissions.add(studio, wishes).code
    photos.add(studio, code, photo)
    endings.deliver(studio, code)
    return code


def withheld(studio: Studio) -> list[str]:
    return [one.withheld for one in portfolio.pieces(studio)]


def test_nothing_is_shown_that_nobody_was_asked_about(studio: Studio, piece: str) -> None:
    assert commissions.show(studio, piece).consent == ConsentView()
    assert withheld(studio) == ["not asked"]
    with pytest.raises(NotFound, match="No piece that was handed over may be shown"):
        portfolio.shown(studio)
    with pytest.raises(NotAllowed, match="Nobody was asked whether C-0001"):
        portfolio.shown(studio, [piece])


def test_a_yes_is_kept_with_who_when_and_how_and_can_be_undone(
    studio: Studio, piece: str, clock: FixedClock
) -> None:
    consents.note(studio, piece, YES)
    said = commissions.show(studio, piece).consent
    assert said is not None
    assert (said.answer, said.said_by, said.said_on, said.how, said.with_name) == (
        "yes", "Mara Berg", studio.today(), "in a mail", False,
    )  # fmt: skip
    (shown,) = portfolio.shown(studio)
    assert (shown.shown_as, shown.client, len(shown.photos)) == ("Two cats", "", 1)
    clock.forward(days=9)
    consents.note(studio, piece, ConsentGiven(answer="yes", with_name=True))
    (shown,) = portfolio.shown(studio)
    assert shown.client == "Mara Berg"
    # What was not said again stays as it was said.
    assert shown.consent.said_on == studio.today() - timedelta(days=9)
    assert shown.consent.how == "in a mail"
    consents.note(studio, piece, ConsentGiven(answer="no"))
    assert withheld(studio) == ["refused"]
    assert consents.show(studio, piece) == ConsentView(
        answer="no", said_by="Mara Berg", said_on=studio.today()
    )
    with pytest.raises(NotAllowed, match="may not be shown"):
        portfolio.shown(studio, [piece])
    undo.undo_last(studio)
    assert withheld(studio) == [""]
    consents.note(studio, piece, ConsentGiven(answer="not asked"))
    assert withheld(studio) == ["not asked"]
    undo.undo_last(studio)
    undo.undo_last(studio)
    undo.undo_last(studio)
    assert consents.show(studio, piece) == ConsentView()


def test_what_is_said_of_showing_it_must_be_whole(studio: Studio, piece: str) -> None:
    with pytest.raises(BadInput, match="not said how Mara Berg agreed"):
        consents.note(studio, piece, ConsentGiven(answer="yes"))
    tomorrow = studio.today() + timedelta(days=1)
    with pytest.raises(BadInput, match="still to come"):
        consents.note(studio, piece, YES.model_copy(update={"said_on": tomorrow}))
    with pytest.raises(NotFound, match="Nothing is on record"):
        consents.note(studio, piece, ConsentGiven(answer="not asked"))
    stock = commissions.add(studio, Wishes(title="For stock")).code
    with pytest.raises(BadInput, match="for no client"):
        consents.note(studio, stock, YES)
    consents.note(studio, stock, YES.model_copy(update={"said_by": "myself"}))
    assert consents.show(studio, stock).said_by == "myself"


@pytest.mark.parametrize("title", ["Mara's cats", "Familie Berg", "MARA"])
def test_a_title_that_names_who_did_not_agree_to_it_is_not_shown(
    studio: Studio, piece: str, title: str
) -> None:
    commissions.edit(studio, piece, Wishes(title=title))
    consents.note(studio, piece, YES)
    assert withheld(studio) == ["named by its title"]
    with pytest.raises(NotAllowed, match="names its client"):
        portfolio.shown(studio, [piece])
    consents.note(studio, piece, ConsentGiven(answer="yes", shown_as="Two cats"))
    assert [one.shown_as for one in portfolio.shown(studio)] == ["Two cats"]
    consents.note(studio, piece, ConsentGiven(answer="yes", shown_as="", with_name=True))
    assert [one.shown_as for one in portfolio.shown(studio)] == [title]


def test_photos_are_chosen_or_the_newest(studio: Studio, piece: str, tmp_path: Path) -> None:
    consents.note(studio, piece, YES)
    drawn = draw_photo(tmp_path / "other.png")
    drawn.write_bytes(drawn.read_bytes() + b"\0")
    newer = photos.add(studio, piece, drawn).number
    assert [photo.number for photo in portfolio.shown(studio)[0].photos] == [newer]
    older = photos.all_of(studio, piece)[0].number
    portfolio.choose(studio, piece, [older])
    assert [photo.number for photo in portfolio.shown(studio)[0].photos] == [older]
    assert [photo.chosen for photo in photos.all_of(studio, piece)] == [True, False]
    portfolio.choose(studio, piece, [])
    assert [photo.number for photo in portfolio.shown(studio)[0].photos] == [newer]
    undo.undo_last(studio)
    assert [photo.number for photo in portfolio.shown(studio)[0].photos] == [older]
    with pytest.raises(NotFound, match="has no photo 99"):
        portfolio.choose(studio, piece, [99])
    with pytest.raises(BadInput, match="too many"):
        portfolio.choose(studio, piece, [1, 2, 3, 4])
    for one in photos.all_of(studio, piece):
        photos.remove(studio, one.number)
    assert withheld(studio) == ["no photo"]


def test_they_come_as_they_are_named_and_only_once_handed_over(
    studio: Studio, piece: str, photo: Path
) -> None:
    consents.note(studio, piece, YES)
    other = commissions.add(studio, Wishes(title="Fox", client="Ida")).code
    photos.add(studio, other, photo)
    consents.note(studio, other, YES)
    with pytest.raises(NotAllowed, match="not handed over"):
        portfolio.shown(studio, [other])
    assert portfolio.choose(studio, other, [2]) is None
    endings.deliver(studio, other)
    assert [one.code for one in portfolio.shown(studio)] == [other, piece]
    assert [one.code for one in portfolio.shown(studio, [piece, other])] == [piece, other]
