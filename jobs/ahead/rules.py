"""Who will come in the weeks ahead, and how many pieces of a part that takes. Pure.

Weeks count from today: week 0 is today and six days more. A part is needed by open jobs, by customers whose clocks fall due
(each comes or not, alone, with all that fell due in that week), and by jobs that no clock foretells, as many as in the past
year (a Poisson count). The distribution of the sum is exact: one is folded in after the other.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from jobs.bench.methods.logs import Floats

WEEK = 7  # days
AHEAD = 52  # weeks that are looked at; each later year is taken to be like this one
PRIOR = 10  # customers that the prior counts for: our own choice, no source


@dataclass(frozen=True)
class Span:
    """A stretch of weeks from the day on which a clock falls due: from `first`, not yet `end`.

    `prior` of ten customers who have not come before are taken to come in it: our own choice, no source. `asked` and `came`
    are of the workshop's own past.
    """

    first: int
    end: int
    prior: int
    asked: int = 0
    came: int = 0

    @property
    def chance(self) -> float:
        """That a customer who has not come before comes in this stretch: the mean of a Beta distribution."""
        return (self.prior + self.came) / (PRIOR + self.asked)

    @property
    def percent(self) -> float:
        """The same in per cent, to a tenth."""
        return round(100.0 * self.chance, 1)

    @property
    def weekly(self) -> float:
        """The same for each of its weeks, as even as it can be."""
        return float(1.0 - (1.0 - self.chance) ** (1.0 / (self.end - self.first)))

    @property
    def words(self) -> str:
        """As a page says it."""
        if self.end <= 0:
            return (
                f"{-self.first} to {-self.end} weeks before"
                if self.end
                else f"the {-self.first} weeks before"
            )
        return f"{self.first} to {self.end} weeks after" if self.first else f"the {self.end} weeks after"


SPANS = (Span(-26, -4, 1), Span(-4, 0, 2), Span(0, 4, 3), Span(4, 13, 2), Span(13, 26, 1), Span(26, 52, 1))


@dataclass(frozen=True)
class Call:
    """What of one customer fell due in one week, and the day on which they came for it, if they did."""

    due: date
    came: date | None


def learned(calls: Iterable[Call], day: date) -> tuple[Span, ...]:
    """The spans with what the past says of each: only calls for which a whole span lies behind us were asked in it."""
    asked, came = [0] * len(SPANS), [0] * len(SPANS)
    for call in calls:
        until = (day - call.due).days
        at = None if call.came is None else (call.came - call.due).days
        for n, span in enumerate(SPANS):
            if span.end * WEEK > until or (at is not None and at < span.first * WEEK):
                break
            asked[n] += 1
            came[n] += at is not None and at < span.end * WEEK
    return tuple(Span(span.first, span.end, span.prior, asked[n], came[n]) for n, span in enumerate(SPANS))


def comes(due: date, day: date, spans: Sequence[Span]) -> Floats:
    """For each week ahead the chance that a customer comes in it who has not come until today.

    After the last span nobody is waited for; before the first nobody is expected yet.
    """
    first = (day - due).days / WEEK + 0.5
    weekly = np.zeros(AHEAD)
    for span in spans:
        low, high = math.ceil(span.first - first), math.ceil(span.end - first)
        weekly[max(low, 0) : max(high, 0)] = span.weekly
    stays = np.cumprod(1.0 - weekly)
    return np.concatenate([[1.0], stays[:-1]]) * weekly


def foretold(due: date, came: date) -> bool:
    """Whether a customer came for a clock: in one of the spans around the day on which it fell due."""
    return SPANS[0].first * WEEK <= (came - due).days < SPANS[-1].end * WEEK


@dataclass(frozen=True)
class Coming:
    """A customer who may come: the chance for each week, and how many pieces that takes."""

    weeks: Floats
    pieces: int


@dataclass(frozen=True)
class Others:
    """Jobs that no clock foretells: so many a week, each of so many pieces."""

    jobs_a_week: float
    pieces: int


@dataclass(frozen=True)
class Need:
    """What is needed of a part: pieces that open jobs wait for, customers who may come, other jobs."""

    waiting: int = 0
    coming: tuple[Coming, ...] = ()
    others: tuple[Others, ...] = ()

    def expected(self, weeks: int) -> Floats:
        """Pieces expected in each week; what jobs wait for is needed now, and after a year it all begins anew."""
        year = np.full(AHEAD, sum((each.jobs_a_week * each.pieces for each in self.others), 0.0))
        for each in self.coming:
            year += each.weeks * each.pieces
        found = np.resize(year, weeks)
        found[:1] += self.waiting
        return found

    def until(self, weeks: int, most: int) -> Floats:
        """The chance of exactly 0, 1, 2, ... `most` pieces before a week; the rest to 1 is the chance of more."""
        found = np.zeros(most + 1)
        if self.waiting <= most:
            found[self.waiting] = 1.0
        rest = weeks % AHEAD
        for times, part in ((weeks // AHEAD, AHEAD), (1, rest)):
            if times and part:
                once = self._fresh(part, most)
                for _ in range(times):
                    found = np.convolve(found, once)[: most + 1]
        return found

    def _fresh(self, weeks: int, most: int) -> Floats:
        """The same of what is not waited for yet, for at most a year."""
        found = np.zeros(most + 1)
        found[0] = 1.0
        for each in self.coming:
            if chance := float(each.weeks[:weeks].sum()):
                found = with_coin(found, chance, each.pieces)
        for each_other in self.others:
            mean = each_other.jobs_a_week * weeks
            found = np.convolve(found, poisson(mean, each_other.pieces, most))[: most + 1]
        return found

    def most(self, weeks: int) -> int:
        """A number of pieces that is as good as never passed before a week, for at most a year."""
        coins = sum(each.pieces for each in self.coming if each.weeks[:weeks].any())
        means = [(each.jobs_a_week * weeks, each.pieces) for each in self.others]
        return self.waiting + coins + sum(math.ceil(m + 8 * math.sqrt(m) + 8) * n for m, n in means)


def with_coin(found: Floats, chance: float, pieces: int) -> Floats:
    """A distribution with so many pieces more that are needed by a chance."""
    more = found * (1.0 - chance)
    if pieces <= len(found) - 1:
        more[pieces:] += found[: len(found) - pieces] * chance
    return more


def poisson(mean: float, pieces: int, most: int) -> Floats:
    """The chance of exactly 0 to `most` pieces where a Poisson count of this mean comes, each of so many pieces."""
    found = np.zeros(most + 1)
    if mean <= 0.0:
        found[0] = 1.0
        return found
    for n in range(most // pieces + 1):
        found[n * pieces] = math.exp(n * math.log(mean) - mean - math.lgamma(n + 1))
    return found
