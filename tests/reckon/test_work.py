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
    detail_by_eye,
    grade_by_eye,
    read_covered,
    read_covers,
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


def test_detail_goes_on_to_a_showpiece() -> None:
    assert [detail_by_eye(grade) for grade in (1, 3, 5)] == [grade_by_eye(g) for g in (1, 3, 5)]
    assert detail_by_eye(6) == Grade(2.0, 0.5)
    assert detail_by_eye(5.5) == pytest.approx((1.45, 0.3))
    assert read_grade("eye:6", UNKNOWN_TEXTURE, detail_by_eye) == detail_by_eye(6)
    for wrong in (0, 6.1, float("nan")):
        with pytest.raises(BadInput):
            detail_by_eye(wrong)
    with pytest.raises(BadInput, match="from 1 to 5"):
        read_grade("eye:6", UNKNOWN_DARKNESS)


@pytest.mark.parametrize(
    ("text", "share", "by_eye"),
    [
        ("60%", 0.6, True), (" 60 % ", 0.6, True), ("60", 0.6, True), ("eye:0.6", 0.6, True),
        ("0,6", 0.6, False), ("0.6", 0.6, False), ("100%", 1, False), ("1", 1, False),
        ("", 1, False),
    ],
)  # fmt: skip
def test_the_share_burned_as_people_write_it(text: str, share: float, by_eye: bool) -> None:
    found = read_covered(text)
    assert found.value == share
    assert (found.doubt > 0) is by_eye


@pytest.mark.parametrize("text", ["0", "0%", "-1", "101%", "half", "nan", "eye:", "inf"])
def test_no_share_of_a_face(text: str) -> None:
    with pytest.raises(BadInput, match="no share of the face"):
        read_covered(text)


@pytest.mark.parametrize(
    ("text", "stages"),
    [
        ("", "prepare transfer burn finish"), ("whole piece", "prepare transfer burn finish"),
        ("burning", "burn"), ("burning alone", "burn"), ("Burn", "burn"),
        ("transfer burn", "transfer burn"), ("burning and tracing", "transfer burn"),
        ("sanding, finishing", "prepare finish"),
    ],
)  # fmt: skip
def test_what_a_total_covers(text: str, stages: str) -> None:
    assert " ".join(read_covers(text)) == stages


@pytest.mark.parametrize("text", ["framing", "burning and framing", "and", "3"])
def test_what_no_hours_cover(text: str) -> None:
    with pytest.raises(BadInput, match="stages of prepare, transfer, burn, finish"):
        read_covers(text)
