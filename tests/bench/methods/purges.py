"""Made-up traces for the tests: a purge at 5 s from 5 bar, and an exponential recovery to a creeping 9.5 bar."""

from decimal import Decimal

import numpy as np

from jobs.bench.methods.traces import Floats, Trace, from_samples
from jobs.bench.methods.verdicts import Limit

RELEASE_S = 5.0

LIMITS = (
    Limit("lock-up", "bar", Decimal("9.0"), Decimal("10.0")),
    Limit("time to lock up", "s", high=Decimal(15)),
    Limit("creep", "bar_min", high=Decimal("0.05")),
)


def purge(
    *,
    seed: int = 1,
    seconds: float = 180.0,
    rate_hz: float = 2.0,
    noise_bar: float = 0.01,
    tau_s: float = 0.8,
    creep_bar_min: float = 0.02,
    rho: float = 0.0,
    step_bar: float = 0.0001,
) -> Trace:
    """One purge with normal noise (correlated from sample to sample by `rho`), rounded to the sensor's step."""
    times_s = np.arange(int(seconds * rate_hz) + 1) / rate_hz
    since_s = np.maximum(times_s - RELEASE_S, 0.0)
    recovery_bar = 9.5 + creep_bar_min * since_s / 60.0 - 4.5 * np.exp(-since_s / tau_s)
    noisy_bar = recovery_bar + noise_bar * _scatter(np.random.default_rng(seed), len(times_s), rho)
    return from_samples(times_s, np.round(noisy_bar / step_bar) * step_bar)


def changed(trace: Trace, first_s: float, last_s: float, by_bar: float) -> Trace:
    """The same trace with some samples moved."""
    moved = (trace.times_s >= first_s) & (trace.times_s <= last_s)
    return from_samples(trace.times_s, trace.pressures_bar + by_bar * moved)


def _scatter(random: np.random.Generator, count: int, rho: float) -> Floats:
    fresh = random.standard_normal(count)
    scatter = fresh.copy()
    for index in range(1, count if rho else 0):
        scatter[index] = rho * scatter[index - 1] + (1.0 - rho * rho) ** 0.5 * fresh[index]
    return scatter


def warmed(trace: Trace, warm_bar: float, tau_s: float) -> Trace:
    """The same trace with gas that warms from the purge on and lifts the pressure by so much in the end."""
    since_s = np.maximum(trace.times_s - RELEASE_S, 0.0)
    return from_samples(trace.times_s, trace.pressures_bar + warm_bar * (1.0 - np.exp(-since_s / tau_s)))
