"""The line over services against the thermometer of the GUM, JCGM 100:2008, annex H.3.

The data were read in the documentation of a public library of uncertainties, which took them from the guide. Intercept,
slope and their uncertainties were computed with NumPy and with that library.
"""

from datetime import date, timedelta

import pytest
from scipy import stats

from jobs.bench.methods.drift import DAYS_A_YEAR, Point, fitted
from jobs.bench.methods.slopes import Z95

READ_C = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTION_C = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
START = date(2000, 1, 1)
SIGMA = 0.001  # less than the scatter, which then decides


def on(celsius: float) -> date:
    """A day for each thousandth of a degree above 20, because a service has a day."""
    return START + timedelta(days=round(1000 * (celsius - 20)))


def test_it_works() -> None:
    line = fitted(
        [Point(on(t), b, b - Z95 * SIGMA, b + Z95 * SIGMA) for t, b in zip(READ_C, CORRECTION_C, strict=True)]
    )
    assert line is not None
    a_degree = 1000 / DAYS_A_YEAR
    assert line.slope * a_degree == pytest.approx(0.0021827, abs=5e-8)
    assert line.at(on(20)) == pytest.approx(-0.171204, abs=5e-7)
    assert line.at(on(30)) == pytest.approx(-0.149377, abs=5e-7)
    # Student's factor for 9 degrees of freedom: 2.262157.
    assert stats.t.ppf(0.975, 9) == pytest.approx(2.262157, abs=5e-7)
    assert (line.high - line.slope) * a_degree / 2.262157 == pytest.approx(0.000668, abs=5e-7)
