"""Descriptions of pictures keep their data whole, and thinning loses no peak."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.curves import MOST_POINTS, Curve, decades, thinned
from helpers.errors import OutOfRange


@pytest.mark.parametrize(("x", "y"), [([], []), ([1.0], []), ([1.0], [1.0, 2.0]), (range(1201), range(1201))])
def test_a_curve_has_as_many_values_as_places_and_not_too_many(x, y):
    with pytest.raises(OutOfRange):
        Curve(x, y)


@given(st.integers(1, 20_000), st.integers(0, 1000))
@settings(max_examples=50, deadline=None)
def test_thinning_keeps_the_ends_and_the_highest_and_lowest_value(count, seed):
    x, y = np.arange(float(count)), np.random.default_rng(seed).normal(size=count)
    fewer_x, fewer_y = thinned(x, y)
    assert len(fewer_x) == len(fewer_y) <= MOST_POINTS
    assert (fewer_x[0], fewer_x[-1]) == (x[0], x[-1]) and (np.diff(fewer_x) > 0).all()
    assert (fewer_y.min(), fewer_y.max()) == (y.min(), y.max())
    assert (y[fewer_x.astype(int)] == fewer_y).all()


@pytest.mark.parametrize(
    ("low", "high", "values"),
    [(1, 10, [1, 10]), (0.02, 60, [0.1, 1, 10]), (2, 5, [2, 5]), (15, 30, [20]), (3, 30, [5, 10, 20])],
)
def test_a_logarithmic_axis_is_marked_at_powers_of_ten_and_a_short_one_between_them(low, high, values):
    assert [value for value, _ in decades(low, high, str)] == pytest.approx(values)


def test_a_long_logarithmic_axis_is_not_crowded():
    assert len(decades(1e-9, 1e9, str)) == 7


def test_no_peak_is_lost_among_hundreds_of_thousands_of_samples():
    time_s = np.linspace(0, 1e-3, 400_001)
    volts = np.sin(time_s * 2e4)
    volts[123_456], volts[300_001] = 5.0, -7.0
    fewer_s, fewer = thinned(time_s, volts)
    assert len(fewer) <= MOST_POINTS and (fewer.max(), fewer.min()) == (5.0, -7.0)
    assert (np.diff(fewer_s) > 0).all() and fewer_s[0] == 0 and fewer_s[-1] == 1e-3
    assert np.interp(fewer_s, time_s, volts) == pytest.approx(fewer)
