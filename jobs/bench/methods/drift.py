"""How a figure drifts over the services of an item, and whether it is on its way out of its limit while still inside.

The rule is the project's own. The weighted straight line and the standard error of its slope are the usual ones; the
interval is the wider of what the figures' own intervals explain and what their scatter about the line shows, because the
first knows nothing of what changes from service to service and the second may by chance be small.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt

from jobs.bench.methods.slopes import Z95

RULE = (
    "A figure is flagged while it is still inside its limit when all of this holds: there are at least three services, "
    "each with a 95 % interval of the figure; the 95 % interval of the slope of the weighted straight line through them "
    "leaves out zero; and that line reaches the limit before the next service is due. The interval of the slope is the "
    "wider of two: the one that the figures' own intervals give, and the one that their scatter about the line gives "
    "(Student's t); with three or four services only a clear drift shows. What was renewed in between is not taken into account: "
    "the table says at which service parts were renewed."
)
LEAST_SERVICES = 3
DAYS_A_YEAR = 365.25
# The 97.5 % quantile of Student's t for 1, 2, ... 20 degrees of freedom; beyond that the last, which is on the safe side.
STUDENT = (
    12.7062, 4.3027, 3.1824, 2.7764, 2.5706, 2.4469, 2.3646, 2.3060, 2.2622, 2.2281,
    2.2010, 2.1788, 2.1604, 2.1448, 2.1314, 2.1199, 2.1098, 2.1009, 2.0930, 2.0860,
)  # fmt: skip


@dataclass(frozen=True)
class Point:
    """One service: its day, and the figure with its 95 % interval, None where nothing is known of its uncertainty."""

    on: date
    value: float
    low: float | None = None
    high: float | None = None

    @property
    def sigma(self) -> float:
        """The standard uncertainty that the wider side of the interval stands for; 0 where there is none."""
        if self.low is None or self.high is None:
            return 0.0
        return max(self.value - self.low, self.high - self.value) / Z95


@dataclass(frozen=True)
class Line:
    """A weighted straight line: its value on a day, its slope a year, and the 95 % interval of the slope."""

    on: date
    level: float
    slope: float
    low: float
    high: float

    def at(self, day: date) -> float:
        """The value of the line on a day."""
        return self.level + self.slope * _years(self.on, day)

    def reaches(self, level: float) -> date:
        """The day on which a line that is not flat is at a level."""
        return self.on + timedelta(days=round((level - self.level) / self.slope * DAYS_A_YEAR))


@dataclass(frozen=True)
class Drift:
    """What is told of a series: the line if there is one, the day on which it reaches its limit if flagged, and why."""

    line: Line | None
    flagged: date | None
    why: str


def fitted(points: Sequence[Point]) -> Line | None:
    """The line through services on at least three days, each figure with an interval; else None."""
    if len({point.on for point in points}) < LEAST_SERVICES or not all(point.sigma > 0.0 for point in points):
        return None
    last = max(point.on for point in points)
    weights = [1.0 / point.sigma**2 for point in points]
    years = [_years(last, point.on) for point in points]
    total = sum(weights)
    middle = sum(w * x for w, x in zip(weights, years, strict=True)) / total
    level = sum(w * point.value for w, point in zip(weights, points, strict=True)) / total
    spread = sum(w * (x - middle) ** 2 for w, x in zip(weights, years, strict=True))
    rows = list(zip(weights, years, (point.value for point in points), strict=True))
    slope = sum(w * (x - middle) * (y - level) for w, x, y in rows) / spread
    left = sum(w * (y - level - slope * (x - middle)) ** 2 for w, x, y in rows)
    freedom = len(points) - 2
    scatter = STUDENT[min(freedom, len(STUDENT)) - 1] * sqrt(left / freedom)
    half = max(Z95, scatter) / sqrt(spread)
    return Line(last, level - slope * middle, slope, slope - half, slope + half)


def drift(
    points: Sequence[Point], limit_low: float | None, limit_high: float | None, next_due: date
) -> Drift:
    """Judge a series, oldest first, by the rule; an open side of the limit is None."""
    newest = points[-1].value
    if (limit_low is not None and newest < limit_low) or (limit_high is not None and newest > limit_high):
        return Drift(fitted(points), None, "It is outside its limit already.")
    line = fitted(points)
    if line is None:
        return Drift(None, None, _too_little(points))
    if line.low <= 0.0 <= line.high:
        return Drift(line, None, "No drift can be told from chance: the slope's interval holds zero.")
    side, name = (limit_high, "upper") if line.slope > 0.0 else (limit_low, "lower")
    if side is None:
        return Drift(line, None, "It moves away from its only limit.")
    at_due = line.at(next_due)
    if (at_due <= side) if line.slope > 0.0 else (at_due >= side):
        return Drift(line, None, "It moves, but the line stays inside until the next service is due.")
    said = f"Still inside, but the line reaches the {name} limit before the next service is due."
    return Drift(line, line.reaches(side), said)


def _too_little(points: Sequence[Point]) -> str:
    days = len({point.on for point in points})
    if days < LEAST_SERVICES:
        return f"{days} of at least {LEAST_SERVICES} services: no line is drawn."
    return "Not every figure has an interval: no line is drawn."


def _years(start: date, day: date) -> float:
    return (day - start).days / DAYS_A_YEAR
