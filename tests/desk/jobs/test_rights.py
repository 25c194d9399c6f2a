"""Whose photo it is: noted, told while it is open, and taken back."""

from pathlib import Path

import pytest

from burnplan.desk.jobs import checklists, commissions, references
from burnplan.desk.jobs.commissions import Wishes
from burnplan.desk.keeping import undo
from burnplan.desk.studio.studio import Studio
from burnplan.errors import BadInput, NotFound

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


def test_what_is_noted_stays_with_the_photo(studio: Studio, photo: Path) -> None:
    first, second = (
        commissions.add(studio, Wishes(title=title, size="16x12cm")).code for title in ("A", "B")
    )
    references.add(studio, first, photo, zones=3, taken_by="Mara", allowed="in the shop")
    view, _ = references.add(studio, second, photo, zones=3)
    assert view.allowed == "in the shop"
    again, _ = references.replan(studio, first, zones=4)
    assert (again.taken_by, again.allowed) == ("Mara", "in the shop")
