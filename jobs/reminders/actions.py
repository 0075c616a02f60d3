"""Write the letters of a day: one per customer, each rung of each clock once."""

import logging
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import groupby
from uuid import uuid4

from django.db import transaction
from django.db.models import Case, Exists, IntegerField, OuterRef, Value, When

from jobs.flow.models import Job, Round
from jobs.flow.rules import OPEN, Outcome
from jobs.reminders.models import Reminder
from jobs.reminders.rules import LADDER, Due, letter, rung, subject
from shop.clocks.models import Clock
from shop.clocks.reads import due_by
from shop.customers.models import Customer
from shop.journal.actions import write
from shop.post.actions import write_letter
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.workshop.reads import now, workshop

log = logging.getLogger(__name__)


def remind(*, on: date) -> int:
    """Write what is due on a day into the outbox; how many letters were new. A second run writes none."""
    return sum(_tried(customer, clocks, on) for customer, clocks in owed(on))


def _tried(customer: Customer, clocks: list[Clock], on: date) -> int:
    """One customer's letter; a fault in it is logged and keeps nobody else from theirs."""
    try:
        return write_one(customer, clocks, on)
    except Exception:  # noqa: BLE001 - whatever it is, the other letters must go out
        log.exception("No letter could be written to %s.", customer.label)
        return 0


def owed(on: date) -> Iterator[tuple[Customer, list[Clock]]]:
    """Customers who asked for reminders, with those of their clocks whose newest rung was not written yet."""
    here = Job.objects.filter(item=OuterRef("item"), leg__in=OPEN)
    gone = Round.objects.filter(outcome__in=[Outcome.CONDEMNED.value, Outcome.BEYOND_REPAIR.value])
    # It stays gone under the number it was merged into.
    left = [gone.filter(**{f"job__item{column}": OuterRef("item")}) for column in ("", "__merged_into")]
    reached = Case(
        *(When(due__lte=on - timedelta(days=days), then=Value(days)) for days in reversed(LADDER)),
        output_field=IntegerField(),
    )
    written = Reminder.objects.filter(clock=OuterRef("pk"), due=OuterRef("due"), rung=OuterRef("reached"))
    clocks = due_by(on - timedelta(days=LADDER[0])).filter(due__isnull=False, item__owner__reminders=True)
    clocks = clocks.exclude(item__owner__email="").annotate(reached=reached)
    fresh = clocks.exclude(Exists(here)).exclude(Exists(written))
    for rows in left:
        fresh = fresh.exclude(Exists(rows))
    for customer, group in groupby(list(fresh), key=lambda clock: clock.item.owner):
        yield customer, list(group)


def _rung(clock: Clock, on: date) -> int | None:
    return rung(clock.due, on) if clock.due else None


def _written(customer: Customer, on: date) -> bool:
    """Whether the customer has had the letter of a day; what fell due since then waits for the next one."""
    mine = Letter.objects.filter(recipient=str(customer.uid), purpose=Purpose.REMINDER, run=on.isoformat())
    return mine.exists()


def write_one(customer: Customer, clocks: list[Clock], on: date) -> int:
    """One customer's letter with its reminders, whole or not at all; 0 when another run was faster."""
    claim, house = uuid4(), workshop()
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        if customer.merged_into_id or not (customer.reminders and customer.email) or _written(customer, on):
            return 0
        rows = [
            Reminder(clock=clock, due=clock.due, rung=reached, claim=claim, at=now())
            for clock in clocks
            if clock.due and (reached := _rung(clock, on)) is not None
        ]
        Reminder.objects.bulk_create(rows, ignore_conflicts=True)
        mine = set(Reminder.objects.filter(claim=claim).values_list("clock_id", flat=True))
        dues = [
            Due(f"{clock.item.title} ({clock.item.label})", clock.title, clock.due)
            for clock in clocks
            if clock.pk in mine and clock.due
        ]
        if not dues:
            return 0
        row = write_letter(
            recipient=str(customer.uid),
            address=customer.email,
            purpose=Purpose.REMINDER,
            run=on.isoformat(),
            subject=subject(dues, on),
            text=letter(customer.name, house.name if house else "", dues, on),
        )
        Reminder.objects.filter(claim=claim).update(letter=row.uid if row else None)
        facts = {"letter": str(row.uid) if row else "", "clocks": len(dues), "on": on.isoformat()}
        write(subject=f"customer:{customer.uid}", by="system", verb="reminder written", facts=facts)
    return 1
