"""Start and restart clocks."""

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
