"""How often the 95 % interval of the creep holds the truth, over many simulated purges.

The truth is the formula's own creep. Seeds are fixed, so a run is repeatable; the allowed band is what 999 of 1000 such
runs would give (binomial distribution, computed with SciPy), so that a wrong interval is told from luck. White noise
should give 95 to 97 %: the allowance for the sensor's 0.1 mbar steps and the outward rounding make the half-width about
0.00012 wider than its 0.0014 bar/min.

What each part is worth, measured with it left out, of 400: without the guard time 305 at a time constant of 3 s; without
the widening for correlation 287 at a correlation of 0.6; without the allowance for steps 2 at steps of five times the
noise.
"""

from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from jobs.bench.methods.creep import fit_creep
from jobs.bench.methods.intermediate_pressure import judge
from tests.bench.methods.purges import purge

SEEDS = 400
TRUTH_BAR_MIN = 0.02


def coverage(**conditions: float) -> tuple[int, float]:
    """How many of the intervals hold the truth, and the mean estimate."""
    held, total = 0, 0.0
    for seed in range(SEEDS):
        creep = judge(purge(seed=seed, creep_bar_min=TRUTH_BAR_MIN, **conditions)).figures.creep_bar_min
        assert creep is not None
        held += creep.low <= Decimal(str(TRUTH_BAR_MIN)) <= creep.high
        total += float(creep.value)
    return held, total / SEEDS


def band(true_coverage: float) -> tuple[float, float]:
    low, high = stats.binom.interval(0.999, SEEDS, true_coverage)
    return float(low), float(high)


def test_it_works() -> None:
    assert band(0.95) == (364.0, 393.0)
    assert band(0.97)[1] == 397.0


@pytest.mark.parametrize("tau_s", [0.8, 3.0])
def test_it_covers_the_truth_under_white_noise(tau_s: float) -> None:
    held, mean = coverage(tau_s=tau_s)
    assert band(0.95)[0] <= held <= band(0.97)[1]
    assert abs(mean - TRUTH_BAR_MIN) < 0.0005


def test_it_covers_the_truth_under_correlated_noise() -> None:
    held, mean = coverage(rho=0.6)
    # The goal is 92 % at a correlation of 0.6, because the correlation itself has to be estimated.
    assert band(0.92)[0] <= held <= band(0.97)[1]
    assert abs(mean - TRUTH_BAR_MIN) < 0.0005


def test_it_covers_the_truth_under_coarse_steps() -> None:
    # Steps of five times the noise hide the creep for most of the window; a bound, not a distribution, is promised.
    held, _ = coverage(noise_bar=0.01, step_bar=0.05)
    assert held >= band(0.95)[0]


def test_it_is_as_narrow_as_theory_allows() -> None:
    # Least squares on white noise: 1.96 sigma sqrt(12) / (T sqrt(N)) = 0.0021777 bar/min for 0.01 bar, 2 Hz, 120 s.
    # Theil-Sen needs about 1/sqrt(0.955) = 1.023 times that (Sen 1968, relative efficiency 3/pi).
    times_s = np.arange(240) / 2.0
    widths = []
    for seed in range(100):
        fit = fit_creep(times_s, np.random.default_rng(seed).normal(9.5, 0.01, 240), sensor_step_bar=0.0)
        if fit.rho == 0.0:
            widths.append((fit.line.high - fit.line.low) / 2.0)
    assert len(widths) > 80
    assert 1.0 < np.mean(widths) / 0.0021777 < 1.06


def test_it_flags_no_hunting_where_there_is_none() -> None:
    assert all(judge(purge(seed=seed, rho=0.6)).figures.hunting is None for seed in range(200))
