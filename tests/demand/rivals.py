"""What the need ahead is measured against: orders that follow past use alone."""

import math
from collections.abc import Sequence

import numpy as np


def moving_average(used: Sequence[int], weeks: int) -> tuple[float, float]:
    """Mean and spread of the weekly use over the last weeks, in pieces a week."""
    last = np.asarray(used[-weeks:], dtype=float)
    return (float(last.mean()), float(last.std())) if len(last) else (0.0, 0.0)


def up_to(mean: float, spread: float, weeks: float, factor: float) -> float:
    """The level for a need of so much a week with such a spread, each week by itself, with a safety factor."""
    return mean * weeks + factor * spread * math.sqrt(weeks)


def croston(series: Sequence[int], alpha: float) -> tuple[float, float]:
    """Croston's size and interval after a series; it begins with the first size and its interval counted from period 1."""
    size = interval = 0.0
    since = 0
    for need in series:
        since += 1
        if need:
            size = size + alpha * (need - size) if size else float(need)
            interval = interval + alpha * (since - interval) if interval else float(since)
            since = 0
    return size, interval


def sba(series: Sequence[int], alpha: float) -> float:
    """Need a period by Syntetos and Boylan: Croston's, less its bias."""
    size, interval = croston(series, alpha)
    return (1.0 - alpha / 2.0) * size / interval if interval else 0.0
