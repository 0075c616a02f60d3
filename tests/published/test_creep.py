"""Settling and creep against figures worked out beforehand; all computed unless said otherwise.

Half-width of the 95 % interval of a least-squares slope under white noise: 1.96 sigma sqrt(12)/(T sqrt(N)), T in minutes
(first and last sample included, and exactly: 1.96 sigma over the root of the sum of squared times about their mean);
Theil-Sen needs 1/sqrt(3/pi) = 1.023 times that (Sen 1968).
"""

import numpy as np
import pytest

from jobs.bench.methods.creep import fit_creep
from jobs.bench.methods.intermediate_pressure import judge
from jobs.bench.methods.settling import find_settling
from jobs.bench.methods.slopes import widening
from jobs.bench.methods.traces import from_samples, parse_csv
from tests.bench.methods.purges import purge
from tests.conftest import TRACES

# Noise in bar, samples a second, seconds, half-width in bar/min.
WIDTHS = [
    (0.005, 1, 60, 0.0043),
    (0.005, 1, 120, 0.0015),
    (0.01, 1, 120, 0.0031),
    (0.01, 1, 300, 0.0008),
    (0.01, 2, 60, 0.0061),
    (0.01, 2, 120, 0.0022),
    (0.01, 10, 60, 0.0028),
    (0.02, 2, 120, 0.0044),
    (0.05, 2, 120, 0.0109),
    (0.05, 2, 300, 0.0028),
]
# Noise, samples a second, seconds after which the half-width is at most so many bar/min.
SHORTEST = [
    (0.005, 1, 34, 0.01),
    (0.01, 1, 54, 0.01),
    (0.01, 2, 44, 0.01),
    (0.02, 2, 69, 0.01),
    (0.05, 2, 128, 0.01),
    (0.05, 10, 75, 0.01),
    (0.05, 2, 202, 0.005),
]


def half_width(noise_bar: float, rate_hz: int, seconds: int) -> float:
    """The mean of the fit's half-widths where it saw no correlation."""
    times_s = np.arange(seconds * rate_hz + 1) / rate_hz
    found = []
    for seed in range(12):
        pressures_bar = np.random.default_rng(seed).normal(9.5, noise_bar, len(times_s))
        fit = fit_creep(times_s, pressures_bar, sensor_step_bar=0.0)
        if fit.rho == 0.0:
            found.append((fit.line.high - fit.line.low) / 2.0)
    return float(np.mean(found))


@pytest.mark.parametrize(("noise_bar", "rate_hz", "seconds", "printed"), WIDTHS)
def test_it_is_as_wide_as_computed(noise_bar: float, rate_hz: int, seconds: int, printed: float) -> None:
    samples = seconds * rate_hz + 1
    exact = 1.96 * noise_bar / (np.std(np.linspace(0.0, seconds / 60, samples)) * samples**0.5)
    assert exact == pytest.approx(printed, abs=5.1e-5)
    # Where samples are thinned to medians of several, these are less sharp than their mean.
    assert 0.98 < half_width(noise_bar, rate_hz, seconds) / exact < (1.10 if samples <= 400 else 1.25)


@pytest.mark.parametrize(("noise_bar", "rate_hz", "seconds", "half"), SHORTEST)
def test_it_needs_as_long_as_computed(noise_bar: float, rate_hz: int, seconds: int, half: float) -> None:
    assert half_width(noise_bar, rate_hz, seconds) < 1.25 * half
    assert half_width(noise_bar, rate_hz, seconds * 3 // 4) > half


def test_it_times_an_exponential() -> None:
    """tau ln(step/band), tau 0.8 s, step 4.5 bar, band 0.05 bar: 3.59985 s."""
    times_s = np.arange(0.0, 60.0, 0.001)
    recovery_bar = 9.5 - 4.5 * np.exp(-np.maximum(times_s - 5.0, 0.0) / 0.8)
    found = find_settling(times_s, recovery_bar, noise_bar=0.0, step_bar=0.0)
    assert found is not None
    assert times_s[found.settled] - times_s[found.released] == pytest.approx(3.59985, abs=0.0011)


def test_correlation_of_six_tenths_doubles_the_interval() -> None:
    assert widening(0.6) == pytest.approx(2.0)


# Slope, its tolerance, low and high bound where one was given; the last column is least squares over the same window.
FIXTURES = [
    ("spikes", 0.0198, None, None, 0.0254),
    ("creep_0p10", 0.0991, 0.0976, None, 0.0992),
    ("flat", -0.0003, None, 0.0011, -0.0005),
]


@pytest.mark.parametrize(("name", "slope", "low", "high", "least_squares"), FIXTURES)
def test_it_finds_the_slopes_of_the_shipped_traces(
    name: str, slope: float, low: float | None, high: float | None, least_squares: float
) -> None:
    trace = parse_csv((TRACES / f"{name}.csv").read_bytes())
    found = judge(trace).figures.creep_bar_min
    assert found is not None
    assert float(found.value) == pytest.approx(slope, abs=0.0015)
    assert low is None or float(found.low) == pytest.approx(low, abs=0.0003)
    assert high is None or float(found.high) == pytest.approx(high, abs=0.0003)
    window = trace.times_s >= 19.0
    line = np.polyfit(trace.times_s[window] / 60.0, trace.pressures_bar[window], 1)
    assert line[0] == pytest.approx(least_squares, abs=1e-4)


def test_twelve_spikes_in_360_samples_hardly_move_it() -> None:
    """The goal: less than 0.001 bar/min, where least squares errs by 0.005."""
    errors = []
    for seed in range(10):
        trace = purge(seed=seed)
        spiked = trace.pressures_bar.copy()
        spiked[np.random.default_rng(seed).choice(np.arange(40, 350, 3), 12, replace=False)] += 0.4
        found = judge(from_samples(trace.times_s, spiked)).figures.creep_bar_min
        clean = judge(trace).figures.creep_bar_min
        assert found is not None
        assert clean is not None
        errors.append(float(found.value - clean.value))
    assert np.abs(errors).mean() < 0.001


@pytest.mark.parametrize("amplitude_bar", [0.04, 0.05, 0.1])
def test_it_sees_every_swing_of_40_mbar(amplitude_bar: float) -> None:
    """At 0.35 Hz; of 30 mbar it sees some."""
    for seed in range(10):
        trace = purge(seed=seed)
        swing_bar = amplitude_bar * np.sin(2 * np.pi * 0.35 * trace.times_s)
        found = judge(from_samples(trace.times_s, trace.pressures_bar + swing_bar)).figures.hunting
        assert found is not None
        assert float(found.frequency_hz) == pytest.approx(0.35, abs=0.003)
