"""How much of a part is ordered for the need ahead, and the picture that shows why. Pure.

The service level is a cycle service: the chance that what is needed until the order after this one is here (lead time and
the time until the store is looked at again) is not more than the store has. What is likely to expire before it is used counts
as gone, by expected need, the first to expire first (the EWA policy of Broekmeulen and van Donselaar, 2009, from memory).
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from jobs.ahead.rules import AHEAD, WEEK, Need
from jobs.bench.methods.axes import Scale, place
from jobs.bench.methods.logs import Floats
from jobs.bench.methods.pictures import LEFT, RIGHT, TOP, Band, Label, Picture
from shop.paper.rules import day as said_day
from shop.workshop.rules import counted_in, in_unit

SHOWN = 26  # weeks that are drawn
REVIEW = 1  # weeks until the store is looked at again: our own choice
LEVELS = (90, 95, 98)  # per cent
USUAL = 95


def least(found: Floats, level: float) -> int:
    """The smallest number of pieces that is enough with this chance; all that was looked at where none is."""
    return min(int(np.searchsorted(np.cumsum(found), level - 1e-12)), len(found) - 1)


def surely_used(found: Floats, level: float) -> int:
    """The largest number of pieces that is needed, or more, with this chance."""
    at_least = 1.0 - np.concatenate([[0.0], np.cumsum(found)[:-1]])
    return int(np.flatnonzero(at_least >= level - 1e-12)[-1])


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
    def lead(self) -> int:
        """The weeks until an order of today is here."""
        return self.weeks - REVIEW

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


WIDTH, HEIGHT = 900, 360
STOCK_FOOT, NEED_TOP, NEED_FOOT = 190, 232, 330  # the stock above, the need below, on one axis of weeks
FIRST_LABEL, GAP = "14", 2


@dataclass(frozen=True)
class Week:
    """A week ahead of a part, in pieces: expected need, what arrives, and what is then expected to be left in life."""

    begins: date
    need: float
    arrives: int
    left: float


def weeks_ahead(need: Need, stock: Sequence[Pieces], day: date) -> list[Week]:
    """The weeks that are drawn, without what is proposed."""
    expected = need.expected(SHOWN)
    left = drawn_down(stock, expected).left
    arrives = [sum(each.quantity for each in stock if each.start == n and n) for n in range(SHOWN)]
    return [
        Week(day + timedelta(weeks=n), float(expected[n]), arrives[n], float(left[n])) for n in range(SHOWN)
    ]


def picture(weeks: Sequence[Week], until: int | None, unit: str) -> Picture:
    """Stock in life above, need by week below; the band is the time that an order of today has to last."""
    across = Scale(0.0, len(weeks), LEFT, WIDTH - RIGHT)
    stock = Scale(0.0, _round(max(each.left for each in weeks)), STOCK_FOOT, TOP)
    need = Scale(0.0, _round(max(each.need for each in weeks)), NEED_FOOT, NEED_TOP)
    edges = [(place(across.at(n)), place(across.at(n + 1))) for n in range(len(weeks))]
    steps = "V".join(f"{place(stock.at(each.left))}H{edges[n][1]}" for n, each in enumerate(weeks))
    bars = "".join(
        f"M{place(across.at(n) + GAP)} {NEED_FOOT}V{place(need.at(each.need))}H{place(across.at(n + 1) - GAP)}V{NEED_FOOT}"
        for n, each in enumerate(weeks)
        if each.need
    )
    arrivals = "".join(f"M{edges[n][0]} {TOP}V{STOCK_FOOT}" for n in range(len(weeks)) if weeks[n].arrives)
    band = place(across.at(min(until or 0, len(weeks))) - LEFT)
    return Picture(
        width=str(WIDTH),
        height=str(HEIGHT),
        sentence=_sentence(weeks, unit),
        line=bars,
        fit=f"M{LEFT} {steps}",
        mark=arrivals,
        grid="".join(
            f"M{LEFT} {place(scale.at(share * scale.high))}H{WIDTH - RIGHT}"
            for scale in (stock, need)
            for share in (0.0, 0.5, 1.0)
        ),
        band=Band(str(LEFT), str(TOP), band, str(NEED_FOOT - TOP)) if until else None,
        labels=(
            Label(
                str(LEFT),
                FIRST_LABEL,
                "start",
                f"{counted_in(unit)} expected in life (dashed), arrivals dotted",
            ),
            Label(str(LEFT), str(NEED_TOP - 10), "start", f"{counted_in(unit)} expected to be needed a week"),
            *(
                Label(
                    str(LEFT - 8), place(scale.at(share * scale.high) + 4), "end", f"{share * scale.high:g}"
                )
                for scale in (stock, need)
                for share in (0.0, 1.0)
            ),
            Label(str(LEFT), str(HEIGHT - 6), "start", said_day(weeks[0].begins)),
            Label(
                str(WIDTH - RIGHT), str(HEIGHT - 6), "end", said_day(weeks[-1].begins + timedelta(days=WEEK))
            ),
        ),
    )


def _round(most: float) -> float:
    """The next round number, so that the axis ends with one."""
    tens = 10.0 ** math.floor(math.log10(max(most, 1.0)))
    return next(tens * n for n in (1, 2, 5, 10) if tens * n >= most)


def _sentence(weeks: Sequence[Week], unit: str) -> str:
    needed, arrives = sum(each.need for each in weeks), sum(each.arrives for each in weeks)
    empty = next((each.begins for each in weeks if each.left < 0.5), None)
    left = in_unit(f"{weeks[-1].left:.1f}", unit)
    return (
        f"Over {len(weeks)} weeks {in_unit(f'{needed:.1f}', unit)} are expected to be needed and {in_unit(arrives, unit)} arrive; "
        f"{'none is' if empty else f'{left} are'} expected to be left in life"
        f"{f' in the week of {said_day(empty)}' if empty else ' at their end'}."
    )
