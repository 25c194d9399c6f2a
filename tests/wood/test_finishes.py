"""Finish advice by use: the label's word first, US FDA Food Code 4-101.17 for food."""

import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnplan.errors import BadInput
from burnplan.reckon.checklist import Use
from burnplan.wood.cautions import DEFER, FINISH_RAGS, FOOD
from burnplan.wood.finishes import USES, finish_for, next_coat_at

LAID = datetime(2027, 3, 1, 18, tzinfo=UTC)


def test_each_use_of_a_checklist_has_its_advice() -> None:
    assert set(USES) == {str(use) for use in Use}
    assert finish_for(Use.FOOD) is finish_for("food")


@pytest.mark.parametrize("use", USES)
def test_drying_is_what_the_label_says(use: str) -> None:
    advice = finish_for(use)
    assert advice.finish
    assert advice.source
    assert any("label says" in caution for caution in advice.cautions)
    assert FINISH_RAGS in advice.cautions
    assert advice.cautions[-1] == DEFER


def test_uv_slows_and_does_not_stop() -> None:
    assert "does not stop" in finish_for("outdoor").reason


def test_food_contact_keeps_burning_off_the_surface() -> None:
    advice = finish_for("food")
    assert FOOD in advice.cautions
    assert "4-101.17" in advice.source
    assert "hard maple" in advice.reason


@pytest.mark.parametrize("use", ["", "garden", "Indoor "])
def test_a_use_that_is_none(use: str) -> None:
    with pytest.raises(BadInput, match="where a piece lives"):
        finish_for(use)


@given(st.floats(0.1, 1000))
def test_the_next_coat_waits_for_the_label(hours: float) -> None:
    at = next_coat_at(LAID, hours)
    assert at is not None
    assert (at - LAID) / timedelta(hours=1) == pytest.approx(hours, abs=1e-8)


def test_a_drying_time_is_a_thousand_hours_at_most() -> None:
    assert next_coat_at(LAID, 1000) == LAID + timedelta(hours=1000)


def test_without_the_label_nobody_knows() -> None:
    assert next_coat_at(LAID, None) is None


@pytest.mark.parametrize("hours", [0, -1, 1000.1, math.nan, math.inf])
def test_a_drying_time_that_cannot_be(hours: float) -> None:
    with pytest.raises(BadInput):
        next_coat_at(LAID, hours)
