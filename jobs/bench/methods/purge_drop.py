"""How far the pressure drops while a purge flows, from the lock-up that follows it.

The pressure while flowing is the median of the last 3 s before the release (the project's own choice: a hand takes a while
to settle on the button). Its interval takes in how steady it was, the sensor's step and the calibration; a purge of fewer
than three samples tells nothing. How soon it is back is the time to lock up.
"""

import numpy as np

from jobs.bench.methods.settling import PURGE_BANDS, Settling
from jobs.bench.methods.traces import Trace
from jobs.bench.methods.verdicts import COVERAGE_FACTOR

FLOW_S = 3.0
LEAST_SAMPLES = 3
# The median of normal noise scatters by sqrt(pi/2) more than its mean.
MEDIAN_PENALTY = 1.2533
# Two thirds of normal noise lie between these, one standard deviation to either side; a stray sample lies beyond them.
MIDDLE = (15.87, 84.13)


def flowing_bar(
    trace: Trace, settling: Settling, noise_bar: float, step_bar: float, calibration_bar: float
) -> tuple[float, float] | None:
    """The pressure while the last purge flowed and the half-width of its 95 % interval; None where too few samples show."""
    released = settling.released
    first = int(np.searchsorted(trace.times_s, trace.times_s[released] - FLOW_S - 1e-9))
    times_s, pressures_bar = trace.times_s[first : released + 1], trace.pressures_bar[first : released + 1]
    standing_bar = settling.plateau.intercept + settling.plateau.slope * times_s
    flowing = pressures_bar[pressures_bar < standing_bar - PURGE_BANDS * settling.band_bar]
    if len(flowing) < LEAST_SAMPLES:
        return None
    middle_bar = float(np.median(flowing))
    scatter_bar = max(noise_bar, float(np.ptp(np.percentile(flowing, MIDDLE))) / 2)
    parts_bar = [MEDIAN_PENALTY * scatter_bar / len(flowing) ** 0.5, step_bar / 12**0.5, calibration_bar]
    return middle_bar, COVERAGE_FACTOR * float(np.linalg.norm(parts_bar))
