"""Start and restart clocks."""

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from shop.clocks.models import Clock, Restart, TakenBack
from shop.gear.models import Item
from shop.journal.actions import write
from shop.staff.models import Person
from shop.workshop.reads import now
from shop.workshop.rules import add_months


def set_going(*, by: Person, item: Item, key: str, title: str, months: int) -> Clock:
    """The clock of a key of an item that the caller has locked; a new one has no history and counts as due."""
    clock, made = Clock.objects.get_or_create(item=item, key=key, defaults={"title": title, "months": months})
    if made:
        facts = {"clock": str(clock.uid), "key": key, "months": months}
        write(subject=f"item:{item.uid}", by=str(by.uid), verb="clock set going", facts=facts)
    return clock


def restart(*, by: Person, clock: Clock, months: int, day: date, cause: str) -> Clock:
    """Restart a clock from the day of the service that satisfied it, once per cause."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A clock is restarted in the transaction of the action only.")
    item = Item.objects.select_for_update().get(pk=clock.item_id)
    clock = Clock.objects.select_for_update().get(pk=clock.pk)
    due = add_months(day, months)
    Restart.objects.create(
        clock=clock,
        cause=cause,
        anchor=day,
        due=due,
        before_anchor=clock.anchor,
        before_due=clock.due,
        before_months=clock.months,
        at=now(),
        by=str(by.uid),
    )
    clock.anchor, clock.due, clock.months = day, due, months
    clock.save(update_fields=["anchor", "due", "months"])
    facts = {"clock": str(clock.uid), "cause": cause, "anchor": str(day), "due": str(due)}
    write(subject=f"item:{item.uid}", by=str(by.uid), verb="clock restarted", facts=facts)
    return clock


@dataclass(frozen=True)
class Past:
    """A service of long ago that nobody did here: the item, the clock it satisfied, its day."""

    item_id: int
    key: str
    title: str
    months: int
    day: date
    cause: str


def restart_past(*, by: str, services: list[Past]) -> list[Restart | None]:
    """Restart clocks by services of the past, in this order; None where the clock knows of a later one already.

    The caller has locked the items and writes one entry into the journal for all of them.
    """
    clocks = _clocks_of(services)
    made: list[Restart | None] = []
    for past in services:
        clock = clocks[past.item_id, past.key]
        due = add_months(past.day, past.months)
        known = {
            "before_anchor": clock.anchor,
            "before_due": clock.due,
            "before_months": clock.months,
            "at": now(),
            "by": by,
        }
        later = clock.anchor is not None and clock.anchor > past.day
        made.append(
            None if later else Restart(clock=clock, cause=past.cause, anchor=past.day, due=due, **known)
        )
        if not later:
            clock.anchor, clock.due, clock.months = past.day, due, past.months
    Restart.objects.bulk_create([row for row in made if row])
    Clock.objects.bulk_update(clocks.values(), ["anchor", "due", "months"])
    return made


def _clocks_of(services: list[Past]) -> dict[tuple[int, str], Clock]:
    """The clocks of services, locked; those that there were not are set going without history."""
    wanted = {(past.item_id, past.key): past for past in services}
    items = {item for item, _ in wanted}
    there = set(Clock.objects.filter(item__in=items).values_list("item_id", "key"))
    fresh = [
        Clock(item_id=past.item_id, key=past.key, title=past.title, months=past.months)
        for pair, past in wanted.items()
        if pair not in there
    ]
    Clock.objects.bulk_create(fresh)
    rows = Clock.objects.select_for_update().filter(item__in=items).order_by("pk")
    return {(row.item_id, row.key): row for row in rows if (row.item_id, row.key) in wanted}


def take_back_past(*, by: str, restarts: list[Restart]) -> None:
    """Put clocks back to before these restarts, which are the newest of each clock, as the caller made sure."""
    TakenBack.objects.bulk_create([TakenBack(restart=row, at=now(), by=by) for row in restarts])
    clocks = Clock.objects.select_for_update().in_bulk({row.clock_id for row in restarts})
    for row in sorted(restarts, key=lambda each: -each.pk):
        clock = clocks[row.clock_id]
        clock.anchor, clock.due, clock.months = row.before_anchor, row.before_due, row.before_months
    Clock.objects.bulk_update(clocks.values(), ["anchor", "due", "months"])


def take_back(*, by: Person, item: Item, cause: str) -> None:
    """Put the clocks that a cause restarted back to what they were, unless something restarted them since.

    The caller has locked the item.
    """
    rows = Restart.objects.filter(clock__item=item, cause=cause, taken_back__isnull=True)
    for row in rows.select_related("clock").order_by("pk"):
        TakenBack.objects.create(restart=row, at=now(), by=str(by.uid))
        clock = Clock.objects.select_for_update().get(pk=row.clock_id)
        later = Restart.objects.filter(clock=clock, pk__gt=row.pk, taken_back__isnull=True).exists()
        if not later:
            clock.anchor, clock.due, clock.months = row.before_anchor, row.before_due, row.before_months
            clock.save(update_fields=["anchor", "due", "months"])
        facts = {"clock": str(clock.uid), "cause": cause, "due": str(clock.due or "")}
        write(subject=f"item:{item.uid}", by=str(by.uid), verb="clock taken back", facts=facts)
