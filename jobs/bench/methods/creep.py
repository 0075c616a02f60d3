"""How fast a locked-up pressure rises or falls, and how much longer to measure when that is not yet clear."""

from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.hunting import Hunting, find_hunting
from jobs.bench.methods.logs import Floats
from jobs.bench.methods.slopes import Line, autocorrelation, median_bins, noise, theil_sen, widened, widening

MIN_WINDOW_SAMPLES = 30
MIN_GUARD_S = 10.0
GUARD_SETTLING_TIMES = 2.0
HIDDEN_STEPS = 2.0
FURTHER_STEP_S = 10
FURTHER_MOST_S = 600
# A repeat lands within 1.645 standard deviations of the truth on the side that matters 19 times in 20; its own
# half-width is 1.96 of them.
CERTAINTY = 1.0 + 1.645 / 1.96
# 99 % where the half-widths are those of 95 %.
CHANGE_CERTAINTY = 2.576 / 1.96


@dataclass(frozen=True)
class Change:
    """A creep that is not the same in both halves of its window, which chance alone makes it look in 1 of 100.

    `late` is the line of the second half; `slowing` a rise that becomes slower.
    """

    late: Line
    slowing: bool


@dataclass(frozen=True)
class Creep:
    """A fitted creep window: line in bar per minute from the window's start, and what its interval is made of."""

    line: Line
    steps_bar_min: float
    rho: float
    duration_min: float
    hunting: Hunting | None
    change: Change | None


def guard_s(released_s: float, settled_s: float) -> float:
    """How long after lock-up creep may be judged: at least 10 s after lock-up, and at least twice the time that lock-up took.

    Without the wait the slow end of the recovery passes for creep.
    """
    return max(MIN_GUARD_S, GUARD_SETTLING_TIMES * (settled_s - released_s))


def fit_creep(times_s: Floats, pressures_bar: Floats, sensor_step_bar: float) -> Creep:
    """Fit the samples of a window (at least 30), widening the interval for correlation and for the sensor's steps.

    Equal readings pull Theil-Sen towards zero and can close its interval to nothing: up to two steps of change over the
    window may go unseen. So two steps over the window are added to either side, unless the noise is large enough, a step
    or more, to carry the readings over them.
    """
    minutes = (times_s - times_s[0]) / 60.0
    duration_min = float(minutes[-1])
    hidden = HIDDEN_STEPS if noise(pressures_bar) < sensor_step_bar else 0.0
    steps_bar_min = hidden * sensor_step_bar / duration_min
    x, y = median_bins(minutes, pressures_bar)
    line = theil_sen(x, y)
    rho = autocorrelation(y - (line.intercept + line.slope * x))
    residuals = pressures_bar - (line.intercept + line.slope * minutes)
    return Creep(
        line=widened(line, widening(rho), steps_bar_min),
        steps_bar_min=steps_bar_min,
        rho=rho,
        duration_min=duration_min,
        hunting=find_hunting(times_s, residuals),
        change=_change(x, y, steps_bar_min),
    )


def further_s(creep: Creep, distance_bar_min: float) -> int | None:
    """How many seconds more would probably decide a creep that lies this far from its limit; None beyond 10 min.

    The half-width shrinks as duration to the power 1.5 (sample noise at a constant rate; the sum of squared times grows
    as its cube), the part from the sensor's steps as duration. "Probably" is 19 times in 20 if the creep is as estimated.
    """
    widest = max(creep.line.slope - creep.line.low, creep.line.high - creep.line.slope) - creep.steps_bar_min
    for more_s in range(FURTHER_STEP_S, FURTHER_MOST_S + 1, FURTHER_STEP_S):
        growth = 1.0 + more_s / 60.0 / creep.duration_min
        if CERTAINTY * widest / growth**1.5 + creep.steps_bar_min / growth <= distance_bar_min:
            return more_s
    return None


def _change(x: Floats, y: Floats, steps_bar_min: float) -> Change | None:
    # About a cubic, because a bend must not pass for correlated noise, which would widen the intervals until none shows.
    factor = widening(autocorrelation(y - np.polyval(np.polyfit(x, y, 3), x)))
    half = len(x) // 2
    early, late = (
        widened(theil_sen(x[part], y[part]), factor, 2.0 * steps_bar_min)
        for part in (slice(None, half), slice(half, None))
    )
    wide = float(np.hypot(early.high - early.low, late.high - late.low)) / 2.0
    if abs(early.slope - late.slope) <= CHANGE_CERTAINTY * wide:
        return None
    return Change(late, slowing=early.slope > max(late.slope, 0.0))
