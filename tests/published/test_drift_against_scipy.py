"""The weighted line over services and Student's quantiles against NumPy's `polyfit` and SciPy's `t` and `curve_fit`.

The coverage of the interval is tried by chance with a fixed seed, both where the figures' own intervals are all that
scatters and where the services scatter more than these tell.
"""

from datetime import date, timedelta

import numpy as np
import pytest
from scipy import optimize, stats

from jobs.bench.methods.drift import DAYS_A_YEAR, STUDENT, Point, fitted
from jobs.bench.methods.slopes import Z95

FIRST = date(2020, 3, 1)


def points(days: list[int], values: list[float], sigmas: list[float]) -> list[Point]:
    return [
        Point(FIRST + timedelta(days=on), value, value - Z95 * sigma, value + Z95 * sigma)
        for on, value, sigma in zip(days, values, sigmas, strict=True)
    ]


@pytest.mark.parametrize(
    ("days", "values", "sigmas"),
    [
        ([0, 366, 733], [9.4, 9.5, 9.7], [0.02, 0.02, 0.02]),
        ([0, 366, 733, 1100], [2.4, 2.9, 2.7, 3.1], [0.05, 0.1, 0.02, 0.05]),
        ([0, 200, 410, 900, 1300], [0.01, 0.012, 0.02, 0.019, 0.03], [0.002, 0.001, 0.004, 0.003, 0.001]),
    ],
)
def test_it_works(days: list[int], values: list[float], sigmas: list[float]) -> None:
    line = fitted(points(days, values, sigmas))
    assert line is not None

    years = (np.array(days) - days[-1]) / DAYS_A_YEAR
    slope, level = np.polyfit(years, values, 1, w=1 / np.array(sigmas))
    assert line.slope == pytest.approx(slope, rel=1e-9)
    assert line.level == pytest.approx(level, rel=1e-9)

    def straight(x: np.ndarray, a: float, b: float) -> np.ndarray:
        return a * x + b

    known = optimize.curve_fit(straight, years, values, sigma=sigmas, absolute_sigma=True)[1][0, 0]
    scatter = optimize.curve_fit(straight, years, values, sigma=sigmas, absolute_sigma=False)[1][0, 0]
    half = max(Z95 * known**0.5, stats.t.ppf(0.975, len(days) - 2) * scatter**0.5)
    assert line.high - line.slope == pytest.approx(half, rel=1e-4)
    assert line.slope - line.low == pytest.approx(half, rel=1e-4)


def test_it_knows_students_quantiles() -> None:
    asked = tuple(round(float(stats.t.ppf(0.975, n)), 4) for n in range(1, 21))
    assert asked == STUDENT


@pytest.mark.parametrize("services", [3, 4, 6])
@pytest.mark.parametrize("unseen", [0.0, 3.0])
def test_its_interval_covers_the_true_slope_at_least_as_often_as_it_says(
    services: int, unseen: float
) -> None:
    rng = np.random.default_rng(20261126)
    days = [round(360 * n) for n in range(services)]
    hits = 0
    for _ in range(2000):
        noise = rng.normal(0, np.hypot(0.02, unseen * 0.02), services)
        values = [0.1 * on / DAYS_A_YEAR + each for on, each in zip(days, noise, strict=True)]
        line = fitted(points(days, values, [0.02] * services))
        assert line is not None
        hits += line.low <= 0.1 <= line.high

    assert hits / 2000 >= 0.94
