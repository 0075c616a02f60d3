"""Whether the need ahead is worth it, measured: `python -m tests.demand.years 200` simulates so many workshop-years of each scenario.

One part with a lead time, packs and a life. Customers bring what fell due together, early, late or not at all; who has left a
year out comes as somebody whom no clock foretells, as new customers do. Our orders and those by a moving average of past use
meet the same customers. The moving average has its safety factor set by bisection so that the same share of the pieces is
there when it is needed, and of its windows of 13, 26 and 52 weeks the one with the least stock then counts.
"""

import sys
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import partial

import numpy as np

from jobs.ahead.rules import SPANS, Call, Coming, Need, Others, Span, comes, learned
from jobs.demand.rules import REVIEW, Pieces, Terms, propose
from tests.demand.rivals import moving_average, up_to

START, YEAR, WARM = date(2024, 1, 1), 52, 2
TOLERANCE = 0.002  # of the share that is served at once
WINDOWS = (13, 26, 52)


@dataclass(frozen=True)
class Scenario:
    """A workshop: how many customers, the largest number of things each brings, whether they come by season, new ones a year."""

    name: str
    customers: int = 80
    things: tuple[int, ...] = (1, 1, 1, 2, 2, 3)
    season: bool = True
    new: float = 6.0
    stays: float = 0.7
    terms: Terms = Terms(4, 5, 104)


SCENARIOS = [
    Scenario("80 customers, spring season"),
    Scenario("80 customers, all the year", season=False),
    Scenario("300 customers, spring season", customers=300, new=20.0, terms=Terms(4, 10, 104)),
    Scenario("15 customers, spring season", customers=15, new=1.0, terms=Terms(4, 5, 104)),
    Scenario("40 customers and 3 clubs of 15", customers=43, things=(*[1] * 20, *[2] * 20, 15, 15, 15)),
    Scenario("15 customers, half a year of life, packs of 20", customers=15, new=1.0, terms=Terms(4, 20, 26)),
    Scenario("80 customers, half a year of life, packs of 10", terms=Terms(4, 10, 26)),
    Scenario("40 customers, a year of life, packs of 20", customers=40, new=3.0, terms=Terms(4, 20, 52)),
    Scenario("80 customers, 12 weeks until it comes", terms=Terms(12, 5, 104)),
    Scenario("80 customers, half of those who come are new", new=50.0, stays=0.5),
]


@dataclass
class World:
    """The customers of some years: what is needed in each week, and what a workshop knows of it before."""

    weeks: int
    need: list[int]
    calls: list[tuple[int, int, int | None]] = field(default_factory=list)  # due, pieces, week of coming
    strangers: list[tuple[int, int]] = field(default_factory=list)  # week, pieces


def world(of: Scenario, seed: int, years: int) -> World:
    """Draw the years of a workshop."""
    dice = np.random.default_rng(seed)
    made = World(years * YEAR, [0] * (years * YEAR))
    for n in range(of.customers):
        pieces = of.things[n % len(of.things)]
        due = int(dice.normal(14, 5)) % YEAR if of.season else int(dice.integers(YEAR))
        while due < made.weeks:
            came = due + max(-10, int(dice.normal(2, 6))) if dice.random() < of.stays else None
            made.calls.append((due, pieces, came))
            if came is None:
                came = due + YEAR + max(1, int(dice.normal(4, 6)))
                _stranger(made, came, pieces)
            elif 0 <= came < made.weeks:
                made.need[came] += pieces
            due = came + YEAR
    for week in range(made.weeks):
        for _ in range(dice.poisson(of.new / YEAR)):
            _stranger(made, week, int(dice.choice(of.things)))
    return made


def _stranger(made: World, week: int, pieces: int) -> None:
    if week < made.weeks:
        made.need[week] += pieces
        made.strangers.append((week, pieces))


def day(week: int) -> date:
    return START + timedelta(weeks=week)


def known(made: World) -> list[Need]:
    """What the workshop knows at the beginning of each week: its past, and whose clock falls due; not who will come.

    It looks at its past every fourth week, and remembers three years.
    """
    found: list[Need] = []
    spans: tuple[Span, ...] = SPANS
    for week in range(made.weeks):
        if week % 4 == 0:
            seen = [each for each in made.calls if week - 3 * YEAR < each[0] < week]
            spans = learned([_call(due, came, week) for due, _, came in seen], day(week))
        found.append(Need(0, _coming(made, week, spans), _others(made, week)))
    return found


def _call(due: int, came: int | None, week: int) -> Call:
    return Call(day(due), None if came is None or came >= week else day(came))


def _coming(made: World, week: int, spans: tuple[Span, ...]) -> tuple[Coming, ...]:
    rows = [
        (due, pieces)
        for due, pieces, came in made.calls
        if week - YEAR <= due < week + YEAR and (came is None or came >= week)
    ]
    chances = {due: comes(day(due), day(week), spans) for due, _ in rows}
    return tuple(Coming(chances[due], pieces) for due, pieces in rows)


def _others(made: World, week: int) -> tuple[Others, ...]:
    seen = max(1, min(week, YEAR))
    past = Counter(pieces for at, pieces in made.strangers if week - seen <= at < week)
    return tuple(Others(n / seen, pieces) for pieces, n in past.items())


@dataclass
class Shelf:
    """What lies in store, is on its way and is owed, and what came of it in the weeks that count."""

    lots: list[list[int]] = field(default_factory=list)  # until which week, pieces
    on_way: list[tuple[int, int]] = field(default_factory=list)  # week, pieces
    owed: int = 0
    held: float = 0.0
    expired: int = 0
    served: int = 0
    asked: int = 0


Order = Callable[[int, Shelf], int]


def kept(made: World, terms: Terms, order: Order) -> Shelf:
    """Run a store through the years: what comes is put away, what expires goes, then it is ordered, then needed."""
    shelf = Shelf()
    for week, need in enumerate(made.need):
        counts = week >= WARM * YEAR
        for at, pieces in [row for row in shelf.on_way if row[0] <= week]:
            shelf.lots.append([at + (terms.life or 10_000), pieces])
        shelf.on_way = [row for row in shelf.on_way if row[0] > week]
        shelf.expired += counts * sum(pieces for until, pieces in shelf.lots if until <= week)
        shelf.lots = [lot for lot in shelf.lots if lot[0] > week]
        shelf.owed -= _taken(shelf, shelf.owed)
        if pieces := order(week, shelf):
            shelf.on_way.append((week + terms.lead, pieces))
        got = _taken(shelf, need)
        shelf.owed += need - got
        shelf.served += counts * got
        shelf.asked += counts * need
        shelf.held += counts * sum(pieces for _, pieces in shelf.lots)
    return shelf


def _taken(shelf: Shelf, need: int) -> int:
    got = 0
    for lot in shelf.lots:
        used = min(lot[1], need - got)
        lot[1] -= used
        got += used
    shelf.lots = [lot for lot in shelf.lots if lot[1]]
    return got


def ours(needs: Sequence[Need], terms: Terms, level: int, week: int, shelf: Shelf) -> int:
    """What the need ahead proposes."""
    stock = [Pieces(pieces, 0, until - week) for until, pieces in shelf.lots]
    stock += [
        Pieces(pieces, at - week, at - week + terms.life if terms.life else None)
        for at, pieces in shelf.on_way
    ]
    need = Need(shelf.owed, needs[week].coming, needs[week].others)
    return propose(need, stock, terms, level).pieces


def averaged(used: Sequence[int], terms: Terms, factor: float, window: int, week: int, shelf: Shelf) -> int:
    """Order up to what a moving average of past use says, in whole packs."""
    mean, spread = moving_average(used[:week], window)
    position = (
        sum(pieces for _, pieces in shelf.lots) + sum(pieces for _, pieces in shelf.on_way) - shelf.owed
    )
    wanted = up_to(mean, spread, terms.lead + REVIEW, factor) - position
    return max(0, int(np.ceil(wanted / terms.pack))) * terms.pack


@dataclass(frozen=True)
class Outcome:
    """Of some worlds: the share served at once, the mean stock of each, the expired pieces of each."""

    served: float
    held: tuple[float, ...]
    expired: tuple[int, ...]


def outcome(shelves: Sequence[Shelf]) -> Outcome:
    return Outcome(
        sum(each.served for each in shelves) / sum(each.asked for each in shelves),
        tuple(each.held for each in shelves),
        tuple(each.expired for each in shelves),
    )


def tuned(worlds: Sequence[World], terms: Terms, served: float, window: int) -> Outcome:
    """The moving average with the smallest safety factor that serves as much at once."""

    def run(factor: float) -> Outcome:
        return outcome(
            [kept(each, terms, partial(averaged, each.need, terms, factor, window)) for each in worlds]
        )

    low, high = -2.0, 12.0
    found = run(high)
    for _ in range(14):
        middle = (low + high) / 2.0
        tried = run(middle)
        if tried.served >= served:
            high, found = middle, tried
        else:
            low = middle
    return found


@dataclass(frozen=True)
class Compared:
    """Ours beside the moving average at equal service: ratios of stock and of expired pieces, ours to theirs.

    `enough` is the share of weeks (every fourth) in which what was said to be enough until the next order was enough.
    """

    ours: Outcome
    theirs: Outcome
    window: int
    enough: float

    @property
    def stock(self) -> float:
        return sum(self.ours.held) / sum(self.theirs.held)

    @property
    def equal(self) -> bool:
        return abs(self.ours.served - self.theirs.served) <= TOLERANCE

    @property
    def spread(self) -> tuple[float, float]:
        """The stock ratio that nine of ten worlds lie between."""
        ratios = [mine / other for mine, other in zip(self.ours.held, self.theirs.held, strict=True) if other]
        return float(np.quantile(ratios, 0.05)), float(np.quantile(ratios, 0.95))


def compare(of: Scenario, seeds: Sequence[int], years: int, level: int, windows: Sequence[int]) -> Compared:
    """The same customers, our orders and those of the best moving average."""
    worlds = [world(of, seed, WARM + years) for seed in seeds]
    needs = [known(each) for each in worlds]
    mine = outcome(
        [
            kept(each, of.terms, partial(ours, seen, of.terms, level))
            for each, seen in zip(worlds, needs, strict=True)
        ]
    )
    rivals = [(tuned(worlds, of.terms, mine.served, window), window) for window in windows]
    fair = [row for row in rivals if abs(row[0].served - mine.served) <= TOLERANCE] or rivals
    best, window = min(fair, key=lambda row: sum(row[0].held))
    return Compared(mine, best, window, enough(worlds, needs, of.terms, level))


def enough(worlds: Sequence[World], needs: Sequence[Sequence[Need]], terms: Terms, level: int) -> float:
    """How often the need until the next order was not more than was said to be enough with this chance (per cent)."""
    kept_to = [
        sum(made.need[week : week + terms.until])
        <= propose(seen[week], [], Terms(terms.lead, 1), level).up_to
        for made, seen in zip(worlds, needs, strict=True)
        for week in range(WARM * YEAR, made.weeks - terms.until, 4)
    ]
    return sum(kept_to) / len(kept_to)


def say(of: Scenario, found: Compared, years: int) -> None:
    low, high = found.spread
    expired = sum(found.ours.expired), sum(found.theirs.expired)
    ratio = f"{expired[0] / expired[1]:.2f}" if expired[1] else "none"
    words = [
        f"{of.name}: served at once {found.ours.served:.1%} and {found.theirs.served:.1%}",
        "" if found.equal else "(NOT EQUAL)",
        f"stock {found.stock:.2f} (90 % of workshops {low:.2f} to {high:.2f})",
        f"expired {ratio} ({expired[0]} to {expired[1]} pieces in {years} years)",
        f"window {found.window} weeks",
        f"enough in {found.enough:.1%} of weeks",
    ]
    sys.stdout.write("  ".join(filter(None, words)) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    each, chosen = 5, int(sys.argv[2]) if len(sys.argv) > 2 else 95
    seeds = range(max(1, int(sys.argv[1]) // each))
    for scenario in SCENARIOS:
        say(scenario, compare(scenario, seeds, each, chosen, WINDOWS), len(seeds) * each)
