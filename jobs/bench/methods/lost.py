"""What a logger lost: samples that are missing, and a sensor that stood at the end of what it can show.

The thresholds are the project's own choice; the chances beside them are those of normal noise.
"""

from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.logs import Floats
from jobs.bench.methods.slopes import median, noise

GAP_INTERVALS = 5.0
MIN_GAP_S = 2.0
# Where noise is a step or more, an unclipped sensor has less than 0.16 of its readings on its outermost value, so that
# six in a row come by chance less than once in 50 000 places.
CLIPPED_RUN = 6
CLIPPED_SHARE = 0.25
MIN_MOVING = 8
VENTED_BAR = 0.05


@dataclass(frozen=True)
class Stretch:
    """Samples `first` up to but not with `end`, none missing between them."""

    first: int
    end: int


def gap_length_s(times_s: Floats) -> float:
    """How long an interval between two samples must be to count as a gap: five usual ones, and at least 2 s."""
    return max(GAP_INTERVALS * median(np.diff(times_s)), MIN_GAP_S)


def longest_stretch(times_s: Floats, start_s: float, guard_s: float, gap_s: float) -> Stretch:
    """The most samples from `start_s` on with no gap among them.

    In a gap gear may have been purged again, so that after one the guard time is waited for again.
    """
    first = int(np.searchsorted(times_s, start_s - 1e-9))
    breaks = np.flatnonzero(np.diff(times_s) >= gap_s) + 1
    found = [
        first,
        *(int(np.searchsorted(times_s, times_s[at] + guard_s - 1e-9)) for at in breaks if at > first),
    ]
    ends = [*(int(at) for at in breaks if at > first), len(times_s)]
    stretches = [Stretch(begin, end) for begin, end in zip(found, ends, strict=True)]
    return max(stretches, key=lambda each: each.end - each.first)


def clipped_at(pressures_bar: Floats, released: int, settled: int, least_scatter_bar: float) -> float | None:
    """The value at which the sensor seems to have stood at its end, None if it does not.

    That is the highest or the lowest reading after lock-up, or the lowest of the purge unless that is open to the air: six
    times in a row, or a quarter of the readings after lock-up, though the sensor otherwise scatters by more than so much.
    """
    after, before = pressures_bar[settled:], pressures_bar[: released + 1]
    lowest_bar = float(before.min())
    ends = {float(after.max()), float(after.min()), lowest_bar}
    moving = np.concatenate([before, after])
    moving = moving[~np.isin(moving, list(ends))]
    scatter_bar = noise(moving) if len(moving) >= MIN_MOVING else 0.0
    if scatter_bar < max(least_scatter_bar, 1e-9):
        return None
    if (end_bar := standing_at(after)) is not None:
        return end_bar
    # The few samples of a purge repeat themselves sooner.
    if (
        scatter_bar > 3.0 * least_scatter_bar
        and lowest_bar > VENTED_BAR
        and _longest_run(before == lowest_bar) >= CLIPPED_RUN
    ):
        return lowest_bar
    return None


def standing_at(after_bar: Floats) -> float | None:
    """The highest or the lowest reading if it stands six times in a row or makes a quarter of all; None if neither does."""
    for end_bar in (float(after_bar.max()), float(after_bar.min())):
        at_end = after_bar == end_bar
        if _longest_run(at_end) >= CLIPPED_RUN or at_end.mean() >= CLIPPED_SHARE:
            return end_bar
    return None


def _longest_run(found: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], found.astype(np.int8), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))
