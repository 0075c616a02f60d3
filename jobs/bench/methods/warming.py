"""What gas that warms after a purge may hide in a creep, or feign.

Gas cools in a purge; as it warms it lifts the pressure, ever more slowly: it hides a leak that lets the pressure fall, and
feigns a seat that lets it rise. A warming with the time constant t shows as a slope w1 in the first half of a window of
length T and w2 in the second, and w1 = w2 exp(T/2t). So w2 is the difference of the halves over exp(T/2t) - 1, greatest
for the longest t that is allowed for, and the creep that lasts is the second half's less w2. No verdict may contradict the
lower bound of that (95 %, one side). The longest t is the project's own choice. Gas that warms more slowly is told in
part only; gas that cools shows as halves that differ, if it does.
"""

from dataclasses import dataclass
from math import expm1, hypot, sqrt

import numpy as np

from jobs.bench.methods.logs import Floats
from jobs.bench.methods.slopes import Line, autocorrelation, theil_sen, widened, widening

LONGEST_WARMING_S = 180.0
# What 1.645 and 2.576 standard deviations are of the 1.96 in a half-width: 95 % on one side, 99 % on two.
ONE_SIDE = 1.645 / 1.96
CHANGE_CERTAINTY = 2.576 / 1.96


@dataclass(frozen=True)
class Halves:
    """The creep in either half of a window, bar per minute; each interval takes in `steps_bar_min` to either side.

    `changed` means that chance alone makes them differ as much in 1 of 100.
    """

    early: Line
    late: Line
    steps_bar_min: float
    duration_min: float
    changed: bool

    def lasting_low(self) -> float:
        """The least that the creep may be once the gas is warm."""
        share = _share(self.duration_min)
        creep = self.late.slope - share * (self.early.slope - self.late.slope)
        return creep - ONE_SIDE * hypot((1.0 + share) * _half(self.late), share * _half(self.early))

    def hidden_after(self, growth: float) -> float:
        """How far below a steady creep that bound will probably lie in a window so many times as long.

        Noise counts twice, for the interval and for where the repeat lands (19 times in 20).
        """
        share = _share(self.duration_min * growth)
        late, early = (1.0 + share) * self._noise(self.late), share * self._noise(self.early)
        steps = hypot(1.0 + share, share) * self.steps_bar_min
        return ONE_SIDE * (2.0 * hypot(late, early) / growth / sqrt(growth) + steps / growth)

    def _noise(self, line: Line) -> float:
        return _half(line) - self.steps_bar_min


def halves_of(minutes: Floats, pressures_bar: Floats, steps_bar_min: float) -> Halves:
    """Fit both halves of a window that begins at 0; what the sensor's steps may hide in each is given."""
    # About a cubic, because a bend must not pass for correlated noise, which would widen the intervals until none shows.
    bend = np.polyval(np.polyfit(minutes, pressures_bar, 3), minutes)
    factor = widening(autocorrelation(pressures_bar - bend))
    half = len(minutes) // 2
    early, late = (
        widened(theil_sen(minutes[part], pressures_bar[part]), factor, steps_bar_min)
        for part in (slice(None, half), slice(half, None))
    )
    changed = abs(early.slope - late.slope) > CHANGE_CERTAINTY * hypot(_half(early), _half(late))
    return Halves(early, late, steps_bar_min, float(minutes[-1]), changed)


def _share(duration_min: float) -> float:
    """Which part of the difference of the halves the longest warming leaves in the second one."""
    return 1.0 / expm1(duration_min * 60.0 / 2.0 / LONGEST_WARMING_S)


def _half(line: Line) -> float:
    return (line.high - line.low) / 2.0
