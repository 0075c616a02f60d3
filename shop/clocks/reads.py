"""When clocks are due and by which rule; clocks that fall due, and their panel on an item's page."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from shop.clocks.models import Clock, Restart, Tally
from shop.clocks.rules import Counted, Decision, Due, History, State, due, reckon, state
from shop.gear.models import Item
from shop.gear.rules import Standing
from shop.intervals.models import Interval
from shop.intervals.reads import followed, in_force
from shop.intervals.rules import Anchor, Limit, applies, why
from shop.workshop.reads import today

CHUNK = 500
MOST_SHOWN = 100
Asks = list[tuple[Interval | None, Limit]]


def asks(clock: Clock, item: Item, rows: Iterable[Interval]) -> Asks:
    """What asks for a clock: the plan, which is None, and the rules that hold; also those without a figure yet."""
    plan = Limit(months=clock.months, anchor=Anchor.IN_SERVICE)
    found: Asks = [] if plan.empty else [(None, plan)]
    return [*found, *((row, row.limit) for row in rows if row.clock == clock.key and applies(row, item))]


def history(clock: Clock, item: Item, counted: Iterable[Counted]) -> History:
    """What is known of a clock."""
    return History(clock.anchor, item.made_on, item.in_service_on, tuple(counted))


def counts_of(items: Iterable[int]) -> dict[int, list[Counted]]:
    """Dives and hours of items given by key; of one day the newest."""
    found: dict[int, dict[tuple[str, date], Counted]] = {}
    for row in Tally.objects.filter(item__in=list(items)):
        found.setdefault(row.item_id, {})[row.unit, row.day] = row.counted
    return {item: list(rows.values()) for item, rows in found.items()}


@dataclass(frozen=True)
class Reckoned:
    """A clock, not yet saved where only a rule asks for it, and when it is due by what holds now."""

    clock: Clock
    due: Due
    interval: Interval | None

    @property
    def moves(self) -> bool:
        """Whether that is another day than the one on record."""
        return (self.clock.due, self.clock.unknown) != (self.due.day, self.due.unknown)

    @property
    def differs(self) -> bool:
        decides = self.interval.pk if self.interval else None
        return self.moves or (self.clock.grace, self.clock.interval_id) != (self.due.grace, decides)


def reckoned(clock: Clock, item: Item, rows: Iterable[Interval], counted: Iterable[Counted]) -> Reckoned:
    """When one clock is due."""
    limits = asks(clock, item, rows)
    found = reckon([limit for _, limit in limits], history(clock, item, counted))
    return Reckoned(clock, found, None if found.which is None else limits[found.which][0])


def all_reckoned(items: Sequence[Item], rows: Sequence[Interval]) -> Iterator[Reckoned]:
    """When every clock of items is due, with those that a rule asks for and that were not set going yet."""
    keys = [item.pk for item in items]
    clocks: dict[int, list[Clock]] = {}
    for clock in Clock.objects.filter(item__in=keys):
        clocks.setdefault(clock.item_id, []).append(clock)
    counted = counts_of(keys) if clocks else {}
    for item in items:
        own = clocks.get(item.pk, [])
        for clock in own:
            clock.item = item
        for clock in [*own, *_fresh(item, {each.key for each in own}, rows)]:
            yield reckoned(clock, item, rows, counted.get(item.pk, []))


def _fresh(item: Item, known: set[str], rows: Iterable[Interval]) -> list[Clock]:
    titles = {row.clock: row.title for row in rows if not row.limit.empty and applies(row, item)}
    return [Clock(item=item, key=key, title=title) for key, title in titles.items() if key not in known]


def after(row: Interval, what: str) -> list[Interval]:
    """The rules that would count if this were decided."""
    places = followed()
    if what == Decision.FOLLOW:
        return in_force([*places, row.place])
    if what == Decision.LEAVE:
        return in_force([place for place in places if place != row.place])
    rest = [each for each in in_force() if each.pk not in (row.pk, row.replaces_id)]
    counts = what == Decision.FORCE and row.place in ("", *places)
    return [*rest, row] if counts else rest


def concerned(before: Iterable[Interval], later: Iterable[Interval]) -> Iterator[list[Item]]:
    """The items, in chunks, for whose kind another rule would count."""
    changed = {row.pk: row.kind for row in (*before, *later)}
    both = {row.pk for row in before} & {row.pk for row in later}
    kinds = {kind for pk, kind in changed.items() if pk not in both}
    if not kinds:
        return
    items = Item.objects.filter(merged_into=None).select_related("model").order_by("number")
    items = items if "" in kinds else items.filter(model__kind__in=kinds)
    last = 0
    while chunk := list(items.filter(number__gt=last)[:CHUNK]):
        yield chunk
        last = chunk[-1].number


@dataclass(frozen=True)
class Moves:
    """Which dates a decision would move: the first of them, and how many there are; `fresh`: set going by it."""

    rows: list[Reckoned]
    count: int
    fresh: int


def moves(row: Interval, what: str) -> Moves:
    """Which dates would move if this were decided now."""
    later, shown, count, fresh = after(row, what), list[Reckoned](), 0, 0
    for items in concerned(in_force(), later):
        for each in all_reckoned(items, later):
            if each.clock.pk is None or each.moves:
                count += 1
                fresh += each.clock.pk is None
                shown += [each] if len(shown) < MOST_SHOWN else []
    return Moves(shown, count, fresh)


def due_by(day: date) -> QuerySet[Clock]:
    """Clocks of gear in use that are due on or before a day; those without history count as due."""
    return _in_use(Q(due__lte=day) | Q(unknown=True))


def dated_by(day: date) -> QuerySet[Clock]:
    """Those of them that have a day."""
    return _in_use(Q(due__lte=day))


def unknown() -> QuerySet[Clock]:
    """Those of them without history."""
    return _in_use(Q(unknown=True))


def of_items(items: Iterable[int]) -> QuerySet[Clock]:
    """When gear in use, given by its keys, is due; what counts as due without a day too."""
    return _in_use(Q(item__in=list(items)) & (Q(due__isnull=False) | Q(unknown=True)))


def _in_use(asked: Q) -> QuerySet[Clock]:
    rows = Clock.objects.filter(asked, item__merged_into=None, item__standing=Standing.IN_USE)
    return rows.select_related("item__model", "item__owner").order_by("item__owner", "item__number", "key")


def untouched() -> QuerySet[Clock]:
    """Clocks that only a rule asked for and with which nothing was done since."""
    return Clock.objects.filter(months=None, anchor=None, restarts=None)


def with_elsewhere(rows: QuerySet[Clock]) -> QuerySet[Clock]:
    """Clocks, each with whether others did it last."""
    others = Restart.objects.filter(clock=OuterRef("pk"), anchor=OuterRef("anchor"), taken_back=None)
    return rows.annotate(by_others=Exists(others.exclude(elsewhere="")))


def asked_for(clock: Clock) -> bool:
    """Whether its plan or a rule asks for a clock."""
    return bool(clock.due or clock.unknown or clock.interval_id or clock.months)


def stands(clock: Clock) -> State:
    """How a clock stands that was read `with_elsewhere`."""
    elsewhere = bool(getattr(clock, "by_others", False))
    return state(clock.item.standing, unknown=clock.unknown, asked=asked_for(clock), elsewhere=elsewhere)


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """The item's clocks, its counts, and what of it keeps rules from being sure."""
    clocks = with_elsewhere(item.clocks.select_related("interval", "item")).order_by("key")
    counted = counts_of([item.pk]).get(item.pk, [])
    newest = {each.unit: each for each in sorted(counted, key=lambda each: each.day)}
    shown = {"clocks": [(clock, stands(clock)) for clock in clocks], "day": today(), "item": item}
    return "clocks/item_panel.html", shown | {"counted": newest.values()}


@dataclass(frozen=True)
class Asked:
    """One rule that asks for a clock, when it would be due by it alone, and why the rule holds; the plan has no row."""

    interval: Interval | None
    limit: Limit
    due: Due
    why: str
    decides: bool


def explained(clock: Clock) -> list[Asked]:
    """Everything that asks for a clock; the soonest decides."""
    item = clock.item
    rows = asks(clock, item, in_force())
    known = history(clock, item, counts_of([item.pk]).get(item.pk, []))
    which = reckon([limit for _, limit in rows], known).which
    return [
        Asked(
            row, limit, Due() if limit.empty else due(limit, known), why(row, item) if row else "", n == which
        )
        for n, (row, limit) in enumerate(rows)
    ]
