"""Ticks against textures whose direction is known."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from burnplan.tone.direction import direction_field, smoothed_along
from burnplan.tone.place import Placed
from burnplan.tone.ticks import direction_ticks


def hatched(degrees: float) -> NDArray[np.uint8]:
    """Fine stripes that run so many degrees from the x axis."""
    y, x = np.mgrid[0:400, 0:400]
    turn = math.radians(degrees)
    across = x * math.sin(turn) - y * math.cos(turn)
    return np.asarray(128 + 60 * np.sin(across * 2 * math.pi / 6), np.uint8)


@pytest.mark.parametrize("degrees", [0, 30, 90, 135])
def test_ticks_run_along_a_texture(placed_of: Callable[..., Placed], degrees: float) -> None:
    ticks = direction_ticks(placed_of(hatched(degrees)))
    assert len(ticks) > 100
    turns = []
    for tick in ticks:
        along = tick[-1] - tick[0]
        assert np.hypot(*along) == pytest.approx(4.7, abs=1.5)
        turn = math.degrees(math.atan2(along[1], along[0])) - degrees
        turns.append(abs((turn + 90) % 180 - 90))
    assert np.median(turns) < 2
    assert max(turns) < 15  # at the very rim


def test_no_ticks_where_there_is_no_texture(placed_of: Callable[..., Placed]) -> None:
    assert direction_ticks(placed_of(np.full((400, 400), 120, np.uint8))) == ()
    half = hatched(0)
    half[:, 200:] = 120
    assert max(tick[:, 0].max() for tick in direction_ticks(placed_of(half))) < 55


def test_smoothing_along_keeps_what_runs_and_loses_what_is_strewn() -> None:
    stripes = hatched(30).astype(np.float32)
    noisy = stripes + np.random.default_rng(5).normal(0, 20, stripes.shape).astype(np.float32)
    field = direction_field(noisy, 4.0, 1.5, resolution=4.0)
    smooth = smoothed_along(noisy, field, 2.0)
    inner = np.s_[40:-40, 40:-40]
    assert np.std((smooth - stripes)[inner]) < 0.5 * np.std((noisy - stripes)[inner])
    assert np.std(smooth[inner]) > 0.8 * np.std(stripes[inner])
