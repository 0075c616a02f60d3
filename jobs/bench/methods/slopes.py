"""The slope of a noisy trace: Theil-Sen, its 95 % interval, and what serial correlation and coarse steps do to it.

Theil-Sen is the median of the slopes of all pairs, so a few spikes do not move it. Sources: P. K. Sen, "Estimates of
the regression coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63 (1968), equation 2.6 for the interval; the
widening by sqrt((1+r)/(1-r)) is the usual first-order correction for a first-order autoregressive residual.
"""

from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.logs import Floats

Z95 = 1.959963984540054
MAX_FIT_POINTS = 300
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
    slopes = _pair_slopes(x, y)
    count = len(slopes)
    spread = Z95 * np.sqrt(_kendall_variance(y))
    low_rank = max(round((count - spread) / 2.0) - 1, 0)
    high_rank = min(round((count + spread) / 2.0), count - 1)
    middle = ((count - 1) // 2, count // 2)
    slopes.partition(sorted({low_rank, high_rank, *middle}))
    slope = float(slopes[middle[0]] + slopes[middle[1]]) / 2.0
    intercept = float(np.median(y)) - slope * float(np.median(x))
    return Line(slope, float(slopes[low_rank]), float(slopes[high_rank]), intercept)


def median_bins(x: Floats, y: Floats, most: int = MAX_FIT_POINTS) -> tuple[Floats, Floats]:
    """At most `most` points: medians of equal runs of samples, or the samples themselves when they are few."""
    run = -(-len(x) // most)
    if run == 1:
        return x, y
    whole = len(x) // run * run
    return _medians(x, run, whole), _medians(y, run, whole)


def _medians(values: Floats, run: int, whole: int) -> Floats:
    """The median of each run of samples; what is left after the last whole run is a run too."""
    medians = np.median(values[:whole].reshape(-1, run), axis=1)
    return medians if whole == len(values) else np.append(medians, np.median(values[whole:]))


def noise(y: Floats) -> float:
    """Standard deviation of the sample noise, from second differences so that neither level nor ramp counts.

    1.4826 makes the median deviation a normal standard deviation; the second difference of white noise has 6 times its
    variance.
    """
    second = np.diff(y, n=2)
    return float(1.4826 * np.median(np.abs(second - np.median(second))) / np.sqrt(6.0))


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


def _pair_slopes(x: Floats, y: Floats) -> Floats:
    count = len(x)
    slopes = np.empty(count * (count - 1) // 2)
    start = 0
    for lag in range(1, count):
        end = start + count - lag
        slopes[start:end] = (y[lag:] - y[:-lag]) / (x[lag:] - x[:-lag])
        start = end
    return slopes


def _kendall_variance(y: Floats) -> float:
    n = len(y)
    _, repeats = np.unique(y, return_counts=True)
    ties = repeats[repeats > 1].astype(np.float64)
    return float(n * (n - 1) * (2 * n + 5) - np.sum(ties * (ties - 1) * (2 * ties + 5))) / 18.0
