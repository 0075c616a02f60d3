"""The mean of a few repeats, against SciPy."""

import numpy as np
import pytest
from scipy import stats

from jobs.bench.methods.repeats import STUDENT_95, mean_of, student_95


def test_it_works() -> None:
    mean, half = mean_of(np.array([1.21, 1.30, 1.26, 1.33, 1.24]))
    assert mean == pytest.approx(1.268)
    assert half == pytest.approx(2.777 * 0.0476445 / 5**0.5, rel=1e-5)


@pytest.mark.parametrize("freedom", range(1, 31))
def test_it_has_student_s_factor_rounded_up(freedom: int) -> None:
    exact = stats.t.ppf(0.975, freedom)
    assert exact <= student_95(freedom) < exact + 0.001


def test_it_keeps_the_last_factor_for_more() -> None:
    assert len(STUDENT_95) == 30
    assert student_95(31) == student_95(10_000) == STUDENT_95[-1] > stats.t.ppf(0.975, 31)


def test_it_has_no_interval_for_one() -> None:
    assert mean_of(np.array([1.5])) == (1.5, None)


def test_it_has_an_empty_interval_for_equals() -> None:
    assert mean_of(np.array([1.5, 1.5])) == (1.5, 0.0)
