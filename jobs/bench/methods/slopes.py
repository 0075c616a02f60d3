"""The slope of a noisy trace: Theil-Sen, its 95 % interval, and what serial correlation and coarse steps do to it.

Theil-Sen is the median of the slopes of all pairs, so a few spikes do not move it. Sources: P. K. Sen, "Estimates of
the regression coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63 (1968), equation 2.6 for the interval; the
widening by sqrt((1+r)/(1-r)) is the usual first-order correction for a first-order autoregressive residual.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from jobs.bench.methods.logs import Floats

Z95 = 1.959963984540054
MAX_FIT_POINTS = 200
MAX_AUTOCORRELATION = 0.95


@dataclass(frozen=True)
class Line:
    """A fitted line y = intercept + slope * x with the 95 % interval of its slope."""

    slope: float
    low: float
    high: float
    intercept: float


def theil_sen(x: Floats, y: Floats) -> Line:
    """Median of all pair slopes and Sen's 95 % interval; x strictly increasing, at least two points.

    Memory and time grow with the square of the number of points: thin with `median_bins` first.
    """
    first, second = _pairs(len(x))
    slopes = np.sort((y[second] - y[first]) / (x[second] - x[first]))
    count = len(slopes)
    spread = Z95 * np.sqrt(_kendall_variance(y))
    low_rank = max(round((count - spread) / 2.0) - 1, 0)
    high_rank = min(round((count + spread) / 2.0), count - 1)
    slope = float(slopes[(count - 1) // 2] + slopes[count // 2]) / 2.0
    intercept = median(y) - slope * median(x)
    return Line(slope, float(slopes[low_rank]), float(slopes[high_rank]), intercept)


def median(values: Floats) -> float:
    """The median of at least one value, without the checks that take most of the time of NumPy's own."""
    return float(_medians(values))


def median_bins(x: Floats, y: Floats, most: int = MAX_FIT_POINTS) -> tuple[Floats, Floats]:
    """At most `most` points: medians of equal runs of samples, or the samples themselves when they are few."""
    run = -(-len(x) // most)
    if run == 1:
        return x, y
    return _medians_of_runs(x, run), _medians_of_runs(y, run)


def _medians_of_runs(values: Floats, run: int) -> Floats:
    """The median of each run of values; what is left after the last whole run is a run too."""
    whole = len(values) // run * run
    medians = _medians(values[:whole].reshape(-1, run))
    return medians if whole == len(values) else np.append(medians, median(values[whole:]))


def _medians(values: Floats) -> Floats:
    """The medians along the last axis."""
    half = values.shape[-1] // 2
    parted = np.partition(values, half)
    upper: Floats = parted[..., half]
    return upper if values.shape[-1] % 2 else (parted[..., :half].max(axis=-1) + upper) / 2.0


def noise(y: Floats) -> float:
    """Standard deviation of the sample noise, from second differences so that neither level nor ramp counts.

    1.4826 makes the median deviation a normal standard deviation; the second difference of white noise has 6 times its
    variance.
    """
    second = np.diff(y, n=2)
    return 1.4826 * median(np.abs(second - median(second))) / sqrt(6.0)


def autocorrelation(residuals: Floats) -> float:
    """Lag-1 autocorrelation, 0 where it is below what chance gives (2/sqrt(n)), at most 0.95."""
    centred = residuals - residuals.mean()
    power = float(centred @ centred)
    if power <= 0.0:
        return 0.0
    rho = float(centred[1:] @ centred[:-1]) / power
    return 0.0 if rho < 2.0 / np.sqrt(len(residuals)) else min(rho, MAX_AUTOCORRELATION)


def widening(rho: float) -> float:
    """How many times wider an interval must be when neighbouring residuals are correlated by `rho`."""
    return float(np.sqrt((1.0 + rho) / (1.0 - rho)))


def widened(line: Line, factor: float, extra: float) -> Line:
    """The same line with both half-widths multiplied by `factor` and then enlarged by `extra`."""
    low = line.slope - factor * (line.slope - line.low) - extra
    high = line.slope + factor * (line.high - line.slope) + extra
    return Line(line.slope, low, high, line.intercept)


@lru_cache(maxsize=8)
def _pairs(count: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Every pair of so many points: the earlier and the later of each."""
    first, second = np.triu_indices(count, 1)
    return first, second


def _kendall_variance(y: Floats) -> float:
    n = len(y)
    _, repeats = np.unique(y, return_counts=True)
    ties = repeats[repeats > 1].astype(np.float64)
    return float(n * (n - 1) * (2 * n + 5) - np.sum(ties * (ties - 1) * (2 * ties + 5))) / 18.0
