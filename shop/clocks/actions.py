"""Start and restart clocks."""

from datetime import date

from django.db import transaction

from shop.clocks.models import Clock, Restart
from shop.gear.models import Item
from shop.staff.models import Person
from shop.workshop.reads import now
from shop.workshop.rules import add_months


def set_going(*, item: Item, key: str, title: str, months: int) -> Clock:
    """The item's clock of a key; a new one has no history and counts as due. In the caller's transaction."""
    clock, _ = Clock.objects.get_or_create(item=item, key=key, defaults={"title": title, "months": months})
    return clock


def restart(*, by: Person, clock: Clock, months: int, day: date, cause: str) -> Clock:
    """Restart a clock from the day of the service that satisfied it, once per cause; the caller journals it."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A clock is restarted in the transaction of the action only.")
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
    return clock
