"""The robust pieces under a creep: noise, correlation, thinning, and what coarse steps can hide."""

import numpy as np
import pytest

from jobs.bench.methods.creep import HIDDEN_STEPS, fit_creep, guard_s
from jobs.bench.methods.settling import find_settling, median_of_five
from jobs.bench.methods.slopes import Line, autocorrelation, median_bins, noise, theil_sen, widened, widening


def test_it_works() -> None:
    assert theil_sen(np.array([0.0, 1.0, 2.0]), np.array([1.0, 3.0, 5.0])) == Line(2.0, 2.0, 2.0, 1.0)


def test_it_estimates_noise_without_level_or_ramp() -> None:
    scatter = np.random.default_rng(1).normal(0.0, 0.01, 4_000)
    assert noise(scatter) == pytest.approx(0.01, rel=0.05)
    assert noise(9.5 + 0.3 * np.arange(4_000) + scatter) == pytest.approx(noise(scatter), rel=1e-6)


def test_it_ignores_correlation_that_chance_gives() -> None:
    scatter = np.random.default_rng(1).normal(0.0, 0.01, 400)
    assert autocorrelation(scatter) == 0.0
    assert autocorrelation(np.zeros(400)) == 0.0
    assert autocorrelation(np.arange(400.0)) == 0.95
    # Runs of two: 50 products of +1, 49 of -1, of 100; runs of four: 78 and 25 of 104 (counted by hand).
    assert autocorrelation(np.tile([1.0, 1.0, -1.0, -1.0], 25)) == 0.0
    assert autocorrelation(np.tile(np.repeat([1.0, -1.0], 4), 13)) == pytest.approx(53 / 104)


@pytest.mark.parametrize(("rho", "factor"), [(0.0, 1.0), (0.6, 2.0), (0.8, 3.0)])
def test_it_widens_for_correlation(rho: float, factor: float) -> None:
    assert widening(rho) == pytest.approx(factor)


def test_it_widens_either_side_by_its_own_length() -> None:
    line = widened(Line(1.0, 0.9, 1.2, 5.0), 2.0, 0.01)
    assert (line.slope, line.intercept) == (1.0, 5.0)
    assert line.low == pytest.approx(0.79)
    assert line.high == pytest.approx(1.41)


def test_it_thins_by_medians_and_leaves_few_samples_alone() -> None:
    x = np.arange(10.0)
    spiked = x.copy()
    spiked[4] = 99.0
    assert median_bins(x, x, most=10)[0] is x
    bins = median_bins(x, spiked, most=2)
    assert [each.tolist() for each in bins] == [[2.0, 7.0], [2.0, 7.0]]
    assert len(median_bins(np.arange(2_345.0), np.arange(2_345.0))[0]) == 196


def test_it_takes_the_median_of_five_with_mirrored_ends() -> None:
    spiked = np.array([99.0, 1.0, 2.0, 3.0, 4.0, 99.0])
    assert median_of_five(spiked).tolist() == [2.0, 2.0, 3.0, 3.0, 4.0, 4.0]


@pytest.mark.parametrize(("settled_s", "start_s"), [(6.0, 16.0), (10.0, 20.0), (25.0, 65.0)])
def test_it_waits_ten_seconds_or_twice_the_settling_time(settled_s: float, start_s: float) -> None:
    assert settled_s + guard_s(5.0, settled_s) == start_s


def test_it_times_an_exponential_recovery() -> None:
    # tau * ln(step / band) = 0.8 s * ln(4.5 / 0.05) = 3.59985 s.
    times_s = np.arange(0.0, 60.0, 0.01)
    recovery_bar = 9.5 - 4.5 * np.exp(-np.maximum(times_s - 5.0, 0.0) / 0.8)
    found = find_settling(times_s, recovery_bar, noise_bar=0.0, step_bar=0.0)
    assert found is not None
    assert times_s[found.released] == pytest.approx(5.0)
    assert times_s[found.settled] - times_s[found.released] == pytest.approx(3.60, abs=0.001)


def test_it_knows_what_coarse_steps_can_hide() -> None:
    # Every ramp from a twentieth of a step to six steps over the window, at ten phases against the steps.
    times_s = np.linspace(0.0, 120.0, 121)
    worst = 0.0
    for change in np.arange(0.05, 6.0, 0.05):
        for phase in np.arange(0.0, 1.0, 0.1):
            fit = fit_creep(times_s, np.round(change * times_s / 120.0 + phase), sensor_step_bar=1.0)
            worst = max(worst, abs(fit.line.slope * fit.duration_min - change))
            assert fit.line.low * fit.duration_min <= change + 1e-9
            assert fit.line.high * fit.duration_min >= change - 1e-9
    assert 1.5 < worst < HIDDEN_STEPS
