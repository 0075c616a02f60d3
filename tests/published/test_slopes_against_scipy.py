"""Theil-Sen slopes and intervals against SciPy's `theilslopes`, and against vectors worked beforehand with it.

Source of the method: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389. The vectors were computed with SciPy 1.17.1.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from jobs.bench.methods.slopes import Line, theil_sen
from jobs.bench.methods.traces import Floats


def compare(x: Floats, y: Floats) -> Line:
    """Assert agreement to 1e-12 of the data's own scale of slopes."""
    ours = theil_sen(x, y)
    theirs = stats.theilslopes(y, x, alpha=0.95, method="separate")
    scale = max(1.0, float(np.abs(np.diff(y) / np.diff(x)).max()))
    assert ours.slope == pytest.approx(theirs.slope, rel=1e-12, abs=1e-12 * scale)
    assert ours.low == pytest.approx(theirs.low_slope, rel=1e-12, abs=1e-12 * scale)
    assert ours.high == pytest.approx(theirs.high_slope, rel=1e-12, abs=1e-12 * scale)
    assert ours.intercept == pytest.approx(theirs.intercept, rel=1e-9, abs=1e-9 * scale)
    return ours


def test_it_works() -> None:
    x = np.arange(7.0)
    line = compare(x, np.array([9.50, 9.51, 9.53, 9.52, 9.55, 9.80, 9.56]))
    assert line.slope == pytest.approx(0.0125, abs=1e-12)
    assert line.low == pytest.approx(0.005, abs=1e-12)
    assert line.high == pytest.approx(0.0725, abs=1e-12)
    assert line.intercept == pytest.approx(9.4925, abs=1e-12)


def test_it_is_not_moved_by_the_spike_that_moves_least_squares() -> None:
    x = np.arange(7.0)
    y = np.array([9.50, 9.51, 9.53, 9.52, 9.55, 9.80, 9.56])
    assert float(np.polyfit(x, y, 1)[0]) == pytest.approx(0.0278571, abs=5e-8)
    assert theil_sen(x, y).slope == pytest.approx(0.0125, abs=1e-12)


def test_it_finds_a_ramp_under_an_alternating_disturbance() -> None:
    k = np.arange(121)
    minutes = k / 60.0
    line = compare(minutes, 9.5 + 0.02 * minutes + 0.01 * (-1.0) ** k)
    assert line.slope == pytest.approx(0.02, abs=1e-12)


@pytest.mark.parametrize("count", [2, 3, 4, 5, 30, 31, 200, 401])
def test_it_agrees_on_a_deterministic_wave(count: int) -> None:
    x = np.cumsum(1.0 + 0.5 * np.sin(np.arange(count)))
    compare(x, 9.5 + 0.01 * x + 0.2 * np.sin(7.0 * x))


@pytest.mark.parametrize("steps", [1, 2, 3, 10])
def test_it_agrees_on_ties(steps: int) -> None:
    x = np.arange(90.0)
    compare(x, np.round(0.03 * x * steps + np.sin(x)))


def test_it_agrees_when_all_readings_are_equal() -> None:
    line = compare(np.arange(40.0), np.full(40, 9.5))
    assert (line.slope, line.low, line.high) == (0.0, 0.0, 0.0)


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_it_agrees_on_whatever_comes(data: st.DataObject) -> None:
    count = data.draw(st.integers(2, 60))
    gaps = data.draw(st.lists(st.floats(0.01, 100.0), min_size=count, max_size=count))
    readings = st.one_of(st.floats(-1000.0, 1000.0), st.integers(-3, 3).map(float))
    y = data.draw(st.lists(readings, min_size=count, max_size=count))
    compare(np.cumsum(np.array(gaps)), np.array(y))
