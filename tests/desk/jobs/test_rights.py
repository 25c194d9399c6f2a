"""Whose photo it is: noted, told while it is open, and taken back."""

from pathlib import Path

import pytest
from PIL import Image

from burnplan.desk.jobs import checklists, commissions, references, review, together
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.money import accepting, payments, quotes
from burnplan.desk.studio import settings
from burnplan.desk.studio.studio import Studio
from burnplan.desk.time import today
from burnplan.errors import BadInput, NotFound
from burnplan.show.console import console
from burnplan.show.time import today as today_shown
from tests.conftest import draw_photo

OPEN = "allow its use, in writing"


def caution(studio: Studio, job: str) -> str:
    return next(one for one in checklists.of(studio, job).steps if one.key == "print").caution


def test_while_it_is_open_the_checklist_says_so(studio: Studio, photo: Path) -> None:
    job = commissions.add(studio, Wishes(title="Barn", size="16x12cm", species="basswood")).code
    assert OPEN not in caution(studio, job)
    with pytest.raises(NotFound, match="no reference yet"):
        references.note_rights(studio, job, allowed="by mail")
    view, _ = references.add(studio, job, photo, zones=3, taken_by="Mara")
    assert (view.taken_by, view.allowed) == ("Mara", "")
    assert OPEN in caution(studio, job)
    noted = references.note_rights(studio, job, allowed="mail of 3 May")
    assert (noted.taken_by, noted.allowed) == ("Mara", "mail of 3 May")
    assert OPEN not in caution(studio, job)
    undo.undo_last(studio)
    assert references.show(studio, job).allowed == ""
    assert OPEN in caution(studio, job)
    with pytest.raises(BadInput, match="Nothing is said"):
        references.note_rights(studio, job)


@pytest.mark.long
def test_what_is_noted_stays_with_the_photo(studio: Studio, photo: Path) -> None:
    first, second = (
        commissions.add(studio, Wishes(title=title, size="16x12cm")).code for title in ("A", "B")
    )
    references.add(studio, first, photo, zones=3, taken_by="Mara", allowed="in the shop")
    view, _ = references.add(studio, second, photo, zones=3)
    assert view.allowed == "in the shop"
    again, _ = references.replan(studio, first, zones=4)
    assert (again.taken_by, again.allowed) == ("Mara", "in the shop")


@pytest.mark.long
def test_a_job_that_is_booked_before_its_photo_is_allowed_is_said(
    studio: Studio, photo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = commissions.add(studio, Wishes(title="Barn", size="16x12cm", species="basswood")).code

    def said() -> tuple[str, bool, int]:
        (seen,) = review.review(studio)
        return seen.attention, seen.photo_open, len(today.look(studio).photos)

    references.add(studio, job, photo, zones=3)
    assert said() == ("no quote yet", False, 0)  # nothing is promised yet
    quotes.issue(studio, job, quotes.QuoteRequest(price="300"))
    deposit = accepting.accept(studio, job).deposit
    payments.take(studio, job, str(deposit), "deposit")
    assert said() == (review.PHOTO_OPEN, True, 1)
    console().print(today_shown.day(today.look(studio), studio, settings.current(studio)))
    assert review.PHOTO_OPEN in " ".join(capsys.readouterr().out.split())
    references.note_rights(studio, job, allowed="in a mail")
    assert said() == ("", False, 0)
    undo.undo_last(studio)
    assert said() == (review.PHOTO_OPEN, True, 1)
    other = draw_photo(photo.with_name("other.png"))
    Image.open(photo).transpose(Image.Transpose.FLIP_LEFT_RIGHT).save(other)
    together.put(studio, job, [photo, other], together.TogetherWishes())
    references.note_rights(studio, job, number=1, allowed="in a mail")
    assert said()[1]  # of one of them it is still open
    references.note_rights(studio, job, number=2, allowed="in a mail")
    assert not said()[1]
