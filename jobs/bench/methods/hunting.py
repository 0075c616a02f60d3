"""Hunting: a pressure that swings regularly instead of standing still.

Flagged only when three conditions meet, because a small p-value alone also flags harmless correlated noise: Fisher's g
test below 0.001, the peak holding more than a tenth of all power, and an amplitude of at least 0.02 bar. Source of the
test: R. A. Fisher, "Tests of significance in harmonic analysis", Proc. R. Soc. A 125 (1929); the three thresholds and the
least number of swings are the project's own choice.
"""

from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.logs import Floats

MAX_P = 0.001
MIN_SHARE = 0.1
MIN_AMPLITUDE_BAR = 0.02
MIN_SWINGS = 3
PADDING = 8


@dataclass(frozen=True)
class Hunting:
    """The strongest regular swing: its frequency and its amplitude (half of top to bottom)."""

    frequency_hz: float
    amplitude_bar: float


def find_hunting(times_s: Floats, residuals_bar: Floats) -> Hunting | None:
    """Look for one regular swing in residuals about a fitted line; None if there is none to speak of.

    A swing faster than half the sample rate shows at a wrong, lower frequency. Slower than three swings in the window is
    drift, not hunting.
    """
    count = quick(len(times_s))
    times_s, residuals_bar = times_s[:count], residuals_bar[:count]
    even_s = np.linspace(times_s[0], times_s[-1], count)
    even_bar = np.interp(even_s, times_s, residuals_bar)
    even_bar -= even_bar.mean()
    power = np.abs(np.fft.rfft(even_bar)[1:]) ** 2
    total = float(power.sum())
    if total <= 0.0:
        return None
    share = float(power.max()) / total
    # First term of Fisher's alternating series: an upper bound, and all of it where p is small.
    p_value = len(power) * (1.0 - share) ** (len(power) - 1)
    if p_value >= MAX_P or share <= MIN_SHARE or int(np.argmax(power)) + 1 < MIN_SWINGS:
        return None
    # Zero padding reads the peak between the lines of the plain spectrum, where it would look up to a third too small.
    length = 1 << (PADDING * count - 1).bit_length()  # a power of two is transformed fastest
    padded = np.abs(np.fft.rfft(even_bar, n=length))
    peak = int(np.argmax(padded))
    amplitude_bar = 2.0 * float(padded[peak]) / count
    if amplitude_bar < MIN_AMPLITUDE_BAR:
        return None
    interval_s = float(times_s[-1] - times_s[0]) / (count - 1)
    return Hunting(peak / (length * interval_s), amplitude_bar)


def quick(count: int) -> int:
    """The largest number up to `count` whose only prime factors are 2, 3 and 5, for which a transform is quick."""
    odd = [3**three * 5**five for three in range(12) for five in range(8) if 3**three * 5**five <= count]
    doubled: list[int] = [each << (count // each).bit_length() - 1 for each in odd]
    return max(doubled)
