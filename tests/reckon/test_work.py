"""The work plan as it is kept, and grades as people write them."""

import json

import pytest

from burnplan.errors import BadInput
from burnplan.reckon.standard_hours import coarse_plan
from burnplan.reckon.work import (
    UNKNOWN_DARKNESS,
    UNKNOWN_TEXTURE,
    Grade,
    LineWork,
    WorkPlan,
    ZoneWork,
    grade_by_eye,
    read_grade,
)

ZONE = ZoneWork(1, 1200, 0.5, 0.2)
PLAN = WorkPlan(300, 400, 1200.0, "basswood", 410, (ZONE,), LineWork(400, 600))


def test_a_plan_survives_the_book() -> None:
    for plan in (PLAN, coarse_plan(300, 400, 1200)):
        assert WorkPlan.from_dict(json.loads(json.dumps(plan.to_dict()))) == plan


def test_a_plan_kept_before_doubts_were_is_still_read() -> None:
    plain = PLAN.to_dict()
    del plain["doubt"]
    assert WorkPlan.from_dict(plain) == PLAN


def test_what_is_not_known_of_a_plan_is_nothing_or_middling() -> None:
    """Our own, from the darkness and texture of five public photos."""
    assert Grade(0.5, 0.18) == UNKNOWN_DARKNESS
    assert Grade(0.25, 0.15) == UNKNOWN_TEXTURE
    bare = PLAN._replace(zones=())
    assert bare.darkness == bare.texture == 0
    assert LineWork() == LineWork(0, 0, 0)
    assert LineWork(3, 4, 5).drawn_cm == 7
    assert ZoneWork(1, 2, 0.3, 0.4) == ZoneWork(1, 2, 0.3, 0.4, 1, 0)
    two = PLAN._replace(zones=(ZoneWork(1, 30, 0.8, 0.1), ZoneWork(2, 10, 0.4, 0.5)))
    assert (two.darkness, two.texture) == pytest.approx((0.7, 0.2))


def test_grades() -> None:
    assert (read_grade("0", UNKNOWN_DARKNESS), read_grade("1", UNKNOWN_DARKNESS)) == (
        Grade(0),
        Grade(1),
    )
    assert grade_by_eye(2.5) == Grade(0.4, 0.1)
    assert [grade_by_eye(g).value for g in range(1, 6)] == pytest.approx([0.1, 0.3, 0.5, 0.7, 0.9])
    assert read_grade(" eye:4 ", UNKNOWN_DARKNESS) == grade_by_eye(4)
    assert read_grade("0.37", UNKNOWN_DARKNESS) == Grade(0.37)
    assert read_grade("", UNKNOWN_TEXTURE) is UNKNOWN_TEXTURE


@pytest.mark.parametrize(
    "text", ["dark", "1.2", "-0.1", "nan", "eye:0", "eye:6", "eye:", "eye:nan"]
)
def test_what_is_no_grade(text: str) -> None:
    with pytest.raises(BadInput):
        read_grade(text, UNKNOWN_DARKNESS)
