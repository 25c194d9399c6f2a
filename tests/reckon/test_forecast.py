"""A forecast's figures: quantiles of plainly numbered draws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from burnplan.reckon.forecast import QUANTILES, HoursForecast
from burnplan.reckon.regression import Array
from burnplan.reckon.work import Work

# 0 to 100 h of burning in equal steps, and a tenth of it for all else together.
STEPS = np.arange(101.0)
FORECAST = HoursForecast(
    {Work.PREPARE: STEPS / 20, Work.TRANSFER: STEPS / 40, Work.BURN: STEPS, Work.FINISH: STEPS / 40}
)


def test_the_quantiles_are_ten_fifty_eighty_and_ninety() -> None:
    found = FORECAST.to_dict()
    assert list(found) == ["prepare", "transfer", "burn", "finish", "total"]
    assert found["burn"] == pytest.approx({"p10": 10, "p50": 50, "p80": 80, "p90": 90})
    assert found["total"] == pytest.approx({"p10": 11, "p50": 55, "p80": 88, "p90": 99})


def test_the_whole_job_is_all_its_stages() -> None:
    assert FORECAST.quantile(0.25) == pytest.approx(27.5)
    burning = FORECAST.of([Work.BURN])
    assert list(burning.draws) == [Work.BURN]
    assert burning.quantile(0.25) == pytest.approx(25)


def test_hours_that_are_just_enough_are_enough() -> None:
    burning = FORECAST.of([Work.BURN])
    assert burning.chance_within(0) == pytest.approx(1 / 101)
    assert burning.chance_within(49.9) == pytest.approx(50 / 101)
    assert burning.chance_within(100) == 1


@given(
    arrays(
        np.float64,
        st.tuples(st.just(len(Work)), st.integers(1, 60)),
        elements=st.floats(1e-3, 1e4),
    )
)
def test_the_quantiles_are_those_of_numpy_to_the_last_bit(drawn: Array) -> None:
    forecast = HoursForecast(dict(zip(Work, drawn, strict=True)))
    found = forecast.to_dict()
    named = [*forecast.draws.items(), ("total", forecast.total)]
    for name, row in named:
        assert [*found[name].values()] == np.quantile(row, [*QUANTILES.values()]).tolist()
