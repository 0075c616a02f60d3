"""How fast a locked-up pressure rises or falls, and how much longer to measure when that is not yet clear."""

from dataclasses import dataclass
from math import inf

from jobs.bench.methods.hunting import Hunting, find_hunting
from jobs.bench.methods.logs import Floats
from jobs.bench.methods.slopes import Line, autocorrelation, median_bins, noise, theil_sen, widened, widening
from jobs.bench.methods.warming import LONGEST_WARMING_S, Halves, halves_of

MIN_WINDOW_SAMPLES = 30
MIN_GUARD_S = 10.0
GUARD_SETTLING_TIMES = 2.0
HIDDEN_STEPS = 2.0
FURTHER_STEP_S = 10
FURTHER_MOST_S = 600
# A repeat lands within 1.645 standard deviations of the truth on the side that matters 19 times in 20; its own
# half-width is 1.96 of them.
CERTAINTY = 1.0 + 1.645 / 1.96


@dataclass(frozen=True)
class Creep:
    """A fitted creep window: line in bar per minute from the window's start, and what its interval is made of."""

    line: Line
    steps_bar_min: float
    rho: float
    duration_min: float
    hunting: Hunting | None
    halves: Halves


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
        # In either half that is one step: a bend of more leaves the straight line by a reading.
        halves=halves_of(x, y, steps_bar_min),
    )


def further_s(creep: Creep, low_bar_min: float | None, high_bar_min: float | None) -> int | None:
    """How many seconds more would probably decide a creep against either side of its limit; None beyond 10 min.

    The half-width shrinks as duration to the power 1.5 (sample noise at a constant rate; the sum of squared times grows
    as its cube), the part from the sensor's steps as duration. "Probably" is 19 times in 20 if the creep is as estimated.
    What warming may hide counts towards the side below the creep; where the halves already differ, it is let die away.
    """
    slope, steps = creep.line.slope, creep.steps_bar_min
    sides = [side for side in (low_bar_min, high_bar_min) if side is not None]
    distance = min(abs(slope - side) for side in sides)
    above = min((slope - side for side in sides if side < slope), default=inf)
    widest = max(slope - creep.line.low, creep.line.high - slope) - steps
    least_s = LONGEST_WARMING_S if creep.halves.changed else FURTHER_STEP_S
    for more_s in range(int(least_s), FURTHER_MOST_S + 1, FURTHER_STEP_S):
        growth = 1.0 + more_s / 60.0 / creep.duration_min
        width = CERTAINTY * widest / growth**1.5 + steps / growth
        if width <= distance and creep.halves.hidden_after(growth) <= above:
            return more_s
    return None
