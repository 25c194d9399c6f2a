"""What no row about wood, ladders or finish may be is refused by the database itself."""

import pytest
from sqlalchemy.exc import IntegrityError, StatementError

from burnplan.desk.studio.studio import Studio
from burnplan.ledger.models import (
    BlankCondition,
    BlankPhoto,
    Climate,
    FinishCoat,
    HazardOverride,
    LadderPatch,
    MoistureReading,
    OwnSpecies,
    Record,
    ToneLadder,
)
from tests.ledger.test_constraints import NOW, _blank, _commission


def _species(**more: object) -> OwnSpecies:
    return OwnSpecies(**{"key": "plum", "name": "Plum", "added_at": NOW, **more})


def _patch(**more: object) -> LadderPatch:
    ladder = ToneLadder(species="basswood", tip="ball", heat_unit="dial", burned_at=NOW)
    plain = {"position": 1, "heat": 3.0, "strokes": 1.0, "lightness": 50.0, "read": "eye"}
    return LadderPatch(**{"ladder": ladder, **plain, **more})


def _coat(**more: object) -> FinishCoat:
    plain = {"position": 1, "product": "oil", "dry_hours": 8.0, "next_coat_hours": 12.0}
    return FinishCoat(**{"commission": _commission(), **plain, **more})


@pytest.mark.parametrize(
    "record",
    [
        _blank(grain="sideways"),
        MoistureReading(blank=_blank(), moisture=-1.0, taken_at=NOW),
        MoistureReading(blank=_blank(), moisture=201.0, taken_at=NOW),
        MoistureReading(moisture=9.0, taken_at=NOW),
        Climate(celsius=20.0, humidity=0.0, noted_at=NOW),
        Climate(celsius=20.0, humidity=100.0, noted_at=NOW),
        Climate(celsius=-60.0, humidity=50.0, noted_at=NOW),
        Climate(celsius=20.0, humidity=50.0, client_id=99, noted_at=NOW),
        BlankCondition(blank=_blank(), kind="", noted_at=NOW),
        HazardOverride(blank=_blank(), commission_id=99, hazard="painted", reason="x", made_at=NOW),
        BlankPhoto(blank=_blank(), original_sha256="0" * 64, added_at=NOW),
        _species(key=""),
        _species(bare=120.0),
        _species(bare=20.0, burnt=40.0),
        _species(hardness=0.0),
        _species(specific_gravity=2.0),
        _species(radial=40.0),
        ToneLadder(species="basswood", tip="", heat_unit="dial", burned_at=NOW),
        ToneLadder(species="basswood", tip="x", heat_unit="dial", bare=101.0, burned_at=NOW),
        _patch(lightness=101.0),
        _patch(strokes=0.0),
        _patch(speed=0.0),
        _patch(read="nose"),
        _coat(product=""),
        _coat(dry_hours=0.0),
        _coat(next_coat_hours=-1.0),
    ],
)
def test_such_a_row_is_refused(studio: Studio, record: Record) -> None:
    with (  # noqa: PT012 the block is the transaction
        pytest.raises((IntegrityError, StatementError, LookupError)),
        studio.writing("test") as (book, _),
    ):
        book.add(record)
        book.flush()


def test_an_override_needs_a_reason_and_is_made_once(studio: Studio) -> None:
    with studio.writing("test") as (book, _):
        blank, job = _blank(), _commission()
        book.add_all([blank, job])
        book.flush()
        ids = {"blank_id": blank.id, "commission_id": job.id, "made_at": NOW}
    for reasons in ([""], ["planed", "planed again"]):
        with (  # noqa: PT012 the block is the transaction
            pytest.raises(IntegrityError),
            studio.writing("test") as (book, _),
        ):
            for reason in reasons:
                book.add(HazardOverride(hazard="painted", reason=reason, **ids))
            book.flush()


def test_a_wood_is_on_record_once(studio: Studio) -> None:
    with (  # noqa: PT012 the block is the transaction
        pytest.raises(IntegrityError),
        studio.writing("test") as (book, _),
    ):
        book.add_all([_species(), _species()])
        book.flush()
