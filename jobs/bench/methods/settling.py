"""Where in a trace the purge ends and where the pressure has locked up."""

from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.logs import Floats
from jobs.bench.methods.slopes import Line, median, median_bins, theil_sen

MIN_BAND_BAR = 0.05
BAND_NOISES = 4.0
PURGE_BANDS = 3.0
RISE_WINDOW_S = 0.5
MIN_STEADY_S = 5.0


@dataclass(frozen=True)
class Settling:
    """The last purge of a trace and what came after it.

    `released` is the last purge sample; `settled` the first sample after the last one outside the band, which is past
    the end if that was the last of all; `steady` whether the band was then kept for 5 s. `settled_early` and
    `settled_late` bound `settled`: the crossings of a wider and a narrower band, by twice the scatter about the plateau
    and half a sensor step (half the band at most). `left_again` means that it had stood in its band for 5 s before and
    left it; `ends_low` that the record ends below its plateau, still recovering or already vented.
    """

    plateau: Line
    band_bar: float
    drops: int
    released: int
    settled: int
    settled_early: int
    settled_late: int
    steady: bool
    left_again: bool
    ends_low: bool


def find_settling(
    times_s: Floats, pressures_bar: Floats, noise_bar: float, step_bar: float
) -> Settling | None:
    """Find the release of the last purge and the first sample after which the pressure stays in its band to the end.

    The band is 0.05 bar, or four times the noise if that is more, about a provisional line through the last half of
    the trace (slope in bar/s). None if no purge shows, a purge being a drop of at least three bands below that line;
    `drops` counts them.
    """
    smooth_bar = median_of_five(pressures_bar)
    half = len(times_s) // 2
    plateau = theil_sen(*median_bins(times_s[half:], pressures_bar[half:]))
    band_bar = max(MIN_BAND_BAR, BAND_NOISES * noise_bar)
    off_bar = smooth_bar - (plateau.intercept + plateau.slope * times_s)
    drops = _drops(off_bar, band_bar)
    if not drops:
        return None
    scatter_bar = 1.4826 * median(np.abs(off_bar[half:]))
    doubt_bar = min(2.0 * scatter_bar + step_bar / 2.0, band_bar / 2.0)
    outside = np.flatnonzero(np.abs(off_bar) > band_bar)
    settled = int(outside[-1]) + 1
    early = int(np.flatnonzero(np.abs(off_bar) > band_bar + doubt_bar)[-1]) + 1
    released = _release(times_s, smooth_bar, *drops[-1])
    well_inside = np.flatnonzero(np.abs(off_bar[settled:]) <= band_bar - doubt_bar)
    return Settling(
        plateau=plateau,
        band_bar=band_bar,
        # A record that begins low begins before the supply was opened, or in the purge itself.
        drops=len(drops[1:] if drops[0][0] == 0 and len(drops) > 1 else drops),
        released=released,
        settled=settled,
        settled_early=early,
        settled_late=settled + int(well_inside[0]) if len(well_inside) else len(times_s) - 1,
        steady=settled < len(times_s) and bool(times_s[-1] - times_s[settled] >= MIN_STEADY_S),
        left_again=bool(np.any(np.diff(times_s[outside[outside >= released]]) > MIN_STEADY_S)),
        ends_low=drops[-1][1] == len(times_s) - 1,
    )


def median_of_five(values: Floats) -> Floats:
    """Running median of five samples, mirrored at both ends so that one wild end sample does not count."""
    mirrored = np.concatenate([values[2:0:-1], values, values[-2:-4:-1]])
    a, b, c, d, e = (mirrored[start : start + len(values)] for start in range(5))
    # The greatest and the least of four are not the median of five, whatever the fifth is.
    low = np.maximum(np.minimum(a, b), np.minimum(c, d))
    high = np.minimum(np.maximum(a, b), np.maximum(c, d))
    middle: Floats = np.maximum(np.minimum(low, high), np.minimum(np.maximum(low, high), e))
    return middle


def _drops(off_bar: Floats, band_bar: float) -> list[tuple[int, int]]:
    """First and last sample of each drop: below three bands at some time, and ended by coming back into one band.

    Two thresholds, so that noise about a single one cannot cut a recovery in two.
    """
    low = np.flatnonzero(off_bar < -PURGE_BANDS * band_bar)
    high = np.flatnonzero(off_bar >= -band_bar)
    if not len(low):
        return []
    # Low samples with the same number of standing samples before them belong to one drop.
    group = np.searchsorted(high, low)
    ends = [*np.flatnonzero(np.diff(group)), len(low) - 1]
    last = [int(low[end]) for end in ends]
    first = [int(high[group[end] - 1]) + 1 if group[end] else 0 for end in ends]
    return list(zip(first, last, strict=True))


def _release(times_s: Floats, smooth_bar: Floats, first: int, last: int) -> int:
    """The last purge sample: where the steepest half second of a drop begins."""
    run = np.arange(first, last + 1)
    ahead = np.searchsorted(times_s, times_s[run] + RISE_WINDOW_S - 1e-9)
    rise_bar = smooth_bar[np.minimum(ahead, len(times_s) - 1)] - smooth_bar[run]
    return first + int(np.argmax(rise_bar))
