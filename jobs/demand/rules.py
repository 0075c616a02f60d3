"""What the store will need in the weeks ahead, and how much of it is ordered. Pure.

Time is counted in weeks from today: week 0 is today and the six days after it. What is needed of a part is what open jobs
wait for, the customers whose clocks fall due (each comes or does not, by itself, and brings all that fell due in that week),
and jobs that no clock foretells, at the pace of the past year (a Poisson count). The distribution of their sum is exact: one
is folded in after the other.

The service level is a cycle service: the chance that what is needed until the order after this one arrives is not more than
the store then has had. That time is the lead time plus the time until the store is looked at again, not the lead time alone.
What expires before it is likely to be used counts as gone (as in the EWA policy of Broekmeulen and van Donselaar, 2009, from
memory: by expected need, the first to expire taken first).
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
WEEK = 7  # days
AHEAD = 52  # weeks that are looked at; each later year is taken to be like this one
SHOWN = 26  # weeks of them that are drawn
REVIEW = 1  # weeks until the store is looked at again: our own choice
LEVELS = (90, 95, 98)  # per cent
USUAL = 95
PRIOR = 10  # customers that the prior counts for: our own choice, no source


@dataclass(frozen=True)
class Band:
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


BANDS = (Band(-26, -4, 1), Band(-4, 0, 2), Band(0, 4, 3), Band(4, 13, 2), Band(13, 26, 1), Band(26, 52, 1))


@dataclass(frozen=True)
class Call:
    """What of one customer fell due in one week, and the day on which they came for it, if they did."""

    due: date
    came: date | None


def learned(calls: Iterable[Call], day: date) -> tuple[Band, ...]:
    """The bands with what the past says of each: only calls for which a whole band lies behind us were asked in it."""
    asked, came = [0] * len(BANDS), [0] * len(BANDS)
    for call in calls:
        until = (day - call.due).days
        at = None if call.came is None else (call.came - call.due).days
        for n, band in enumerate(BANDS):
            if band.end * WEEK > until or (at is not None and at < band.first * WEEK):
                break
            asked[n] += 1
            came[n] += at is not None and at < band.end * WEEK
    return tuple(Band(band.first, band.end, band.prior, asked[n], came[n]) for n, band in enumerate(BANDS))


def comes(due: date, day: date, bands: Sequence[Band]) -> Floats:
    """For each week ahead the chance that a customer comes in it who has not come until today.

    After the last band nobody is waited for; before the first nobody is expected yet.
    """
    first = (day - due).days / WEEK + 0.5
    weekly = np.zeros(AHEAD)
    for band in bands:
        low, high = math.ceil(band.first - first), math.ceil(band.end - first)
        weekly[max(low, 0) : max(high, 0)] = band.weekly
    stays = np.cumprod(1.0 - weekly)
    return np.concatenate([[1.0], stays[:-1]]) * weekly


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
            found = with_coin(found, float(each.weeks[:weeks].sum()), each.pieces)
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


def least(found: Floats, level: float) -> int:
    """The smallest number of pieces that is enough with this chance; all that was looked at where none is."""
    return int(min(np.searchsorted(np.cumsum(found), level - 1e-12), len(found) - 1))


def surely_used(found: Floats, level: float) -> int:
    """The largest number of pieces that is needed, or more, with this chance."""
    at_least = 1.0 - np.concatenate([[0.0], np.cumsum(found)[:-1]])
    return int(np.flatnonzero(at_least >= level - 1e-12)[-1])


def left_over(found: Floats, pieces: int) -> float:
    """How many of so many pieces are expected to be left unused; the distribution reaches to them."""
    return float(sum((pieces - n) * chance for n, chance in enumerate(found[:pieces])))


@dataclass(frozen=True)
class Pieces:
    """So many pieces that are there from a week on, and until a week (not in it); None where their life has no end."""

    quantity: int
    start: int = 0
    end: int | None = None


@dataclass(frozen=True)
class Stretch:
    """What is expected of the stock week by week: in life at the end of each, and expired unused since the start."""

    left: Floats
    expired: Floats


def drawn_down(stock: Iterable[Pieces], expected: Floats) -> Stretch:
    """The stock as the expected need draws on it, the first to expire first; what is short waits for what arrives."""
    there: list[tuple[float, float]] = []
    coming = sorted(stock, key=lambda each: each.start)
    left, expired, owed, gone = np.zeros(len(expected)), np.zeros(len(expected)), 0.0, 0.0
    for week, need in enumerate(expected):
        while coming and coming[0].start <= week:
            each = coming.pop(0)
            there.append((math.inf if each.end is None else each.end, float(each.quantity)))
        gone += sum(quantity for end, quantity in there if end <= week)
        there, owed = _taken([row for row in sorted(there) if row[0] > week], owed + float(need))
        left[week], expired[week] = sum(quantity for _, quantity in there), gone
    return Stretch(left, expired)


def _taken(there: list[tuple[float, float]], need: float) -> tuple[list[tuple[float, float]], float]:
    """What is there after a need, and what of it stays owed."""
    kept = []
    for end, quantity in there:
        used = min(quantity, need)
        need -= used
        if quantity > used:
            kept.append((end, quantity - used))
    return kept, need


@dataclass(frozen=True)
class Terms:
    """On which terms a part is had: weeks until it comes, pieces in a pack, and the weeks of life that it comes with."""

    lead: int
    pack: int
    life: int | None = None

    @property
    def until(self) -> int:
        """The weeks that an order of today has to last: until the one after it is here."""
        return self.lead + REVIEW


@dataclass(frozen=True)
class Proposal:
    """What to order now of a part, and from what that follows, all in pieces.

    `up_to` is what is enough with the chosen chance, `expected` what is expected to be needed in that time; `usable` is what
    of the stock and of what is on its way will be in life for it. `used_in_life` is the most that is used before what is
    ordered now expires, with the chosen chance; None where its life has no end.
    """

    weeks: int
    expected: float
    up_to: int
    usable: int
    expires: float
    used_in_life: int | None
    wanted: int
    packs: int
    pieces: int

    @property
    def capped(self) -> bool:
        """Whether less is ordered than is wanted, because more would expire."""
        return self.pieces < self.wanted


def propose(need: Need, stock: Sequence[Pieces], terms: Terms, level: int) -> Proposal:
    """Order up to what is enough with this chance (per cent) until the next order is here, in whole packs.

    Never more than is used in life with the same chance; then as many whole packs as stay below that, or none.
    """
    weeks, share = terms.until, level / 100.0
    expected = need.expected(weeks)
    up_to = least(need.until(weeks, need.most(min(weeks, AHEAD)) * math.ceil(weeks / AHEAD)), share)
    within = [each for each in stock if each.start < weeks]
    usable, expires = _usable(within, expected)
    wanted = max(0, up_to - usable)
    packs, used = math.ceil(wanted / terms.pack), None
    if terms.life is not None and packs:
        used = _in_life(need, stock, terms.lead + terms.life, share, packs * terms.pack)
        packs = min(packs, used // terms.pack)
    return Proposal(
        weeks, float(expected.sum()), up_to, usable, expires, used, wanted, packs, packs * terms.pack
    )


def _usable(stock: Sequence[Pieces], expected: Floats) -> tuple[int, float]:
    """What of the stock is in life for a need, in whole pieces, and what expires unused."""
    expires = float(drawn_down(stock, expected).expired[-1])
    return math.floor(sum(each.quantity for each in stock) - expires + 1e-9), expires


def _in_life(need: Need, stock: Sequence[Pieces], weeks: int, share: float, asked: int) -> int:
    """How many of so many new pieces are used before a week with this chance, after all that is there is used."""
    usable, _ = _usable([each for each in stock if each.start < weeks], need.expected(weeks))
    return max(0, surely_used(need.until(weeks, usable + asked), share) - usable)
