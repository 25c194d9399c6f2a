"""Isotonic regression and the monotone cubic against scipy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import isotonic_regression

from burnplan.reckon.monotone import MonotoneCubic, never_rising

numbers = st.floats(-1e3, 1e3).map(lambda one: round(one, 3))
# Plateaus and turns are what slopes hang on, so small whole numbers come often.
points = st.dictionaries(numbers, st.integers(-3, 3) | numbers, min_size=2, max_size=12).map(
    lambda some: sorted((x, float(y)) for x, y in some.items())
)


@given(st.lists(st.tuples(numbers, st.floats(0.1, 9)), min_size=1, max_size=30))
def test_never_rising_is_scipys_isotonic_regression(some: list[tuple[float, float]]) -> None:
    values, weights = zip(*some, strict=True)
    reference = isotonic_regression(values, weights=weights, increasing=False).x
    np.testing.assert_allclose(never_rising(values, weights), reference, rtol=1e-9, atol=1e-9)


@given(points)
def test_the_curve_is_scipys(some: list[tuple[float, float]]) -> None:
    x, y = zip(*some, strict=True)
    curve, reference = MonotoneCubic(x, y), PchipInterpolator(x, y)
    at = [*np.linspace(x[0], x[-1], 29), *x]
    tolerance = 1e-9 * (1 + max(map(abs, y)))
    np.testing.assert_allclose([curve(float(one)) for one in at], reference(at), atol=tolerance)
    np.testing.assert_allclose(curve.slopes, reference(x, 1), rtol=1e-6, atol=1e-6)


@given(points, st.floats(0, 1))
def test_a_value_is_found_where_the_curve_has_it(
    some: list[tuple[float, float]], share: float
) -> None:
    x, y = zip(*some, strict=True)
    curve = MonotoneCubic(x, y)
    low, high = x[0], x[1]
    value = y[0] + share * (y[1] - y[0])
    found = curve.where(value, low, high)
    assert low <= found <= high
    assert curve(found) == pytest.approx(value, abs=1e-6 * (1 + abs(y[0]) + abs(y[1])))
