"""Write the letters of a day: one per customer, each rung of each clock once."""

import logging
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import groupby, islice
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Case, Exists, F, IntegerField, OuterRef, Value, When

from jobs.answers.reads import quiet
from jobs.flow.models import Job
from jobs.flow.rules import OPEN
from jobs.reminders.models import Reminder
from jobs.reminders.rules import LADDER, Due, letter, rung, subject
from shop.clocks.models import Clock
from shop.clocks.reads import dated_by
from shop.customers.models import Customer
from shop.journal.actions import Deed, write_all
from shop.post.actions import Draft, write_letters
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.workshop.reads import now, workshop

log = logging.getLogger(__name__)
BATCH = 100  # letters written in one transaction
Owed = tuple[Customer, list[Clock]]


def remind(*, on: date) -> int:
    """Write what is due on a day into the outbox; how many letters were new. A second run writes none."""
    waiting, written = owed(on), 0
    while batch := list(islice(waiting, BATCH)):
        written += _tried(batch, on)
    return written


def _tried(batch: list[Owed], on: date) -> int:
    """The letters of a batch; where it fails each is tried alone, so that a fault in one keeps nobody else from theirs."""
    try:
        return write_some(batch, on)
    except Exception:  # noqa: BLE001 - whatever it is, the other letters must go out
        if len(batch) > 1:
            return sum(_tried([each], on) for each in batch)
        log.exception("No letter could be written to %s.", batch[0][0].label)
        return 0


def owed(on: date) -> Iterator[Owed]:
    """Customers who asked for reminders, with those of their clocks whose newest rung was not written yet."""
    here = Job.objects.filter(item=OuterRef("item"), leg__in=OPEN)
    reached = Case(
        *(When(due__lte=on - timedelta(days=days), then=Value(days)) for days in reversed(LADDER)),
        output_field=IntegerField(),
    )
    written = Reminder.objects.filter(clock=OuterRef("pk"), due=OuterRef("due"), rung=OuterRef("reached"))
    clocks = dated_by(on - timedelta(days=LADDER[0])).filter(
        item__owner__reminders=True, item__owner__ours=False
    )
    clocks = clocks.exclude(item__owner__email="").annotate(reached=reached)
    fresh = quiet(clocks, on).exclude(Exists(here)).exclude(Exists(written))
    for customer, group in groupby(list(fresh), key=lambda clock: clock.item.owner):
        yield customer, list(group)


def write_some(owing: list[Owed], on: date) -> int:
    """The letters of some customers with their reminders, whole or not at all; those that another run wrote are left out."""
    house = workshop()
    with transaction.atomic():
        asked = _still_asked([customer.pk for customer, _ in owing], on)
        owing = _not_answered(owing, on)
        # The uid of each customer's letter claims their reminders: what another run was faster to write is not in it.
        claims = [(uuid4(), asked[customer.pk], clocks) for customer, clocks in owing if customer.pk in asked]
        Reminder.objects.bulk_create(
            [
                Reminder(clock=clock, due=clock.due, rung=reached, claim=claim, at=now())
                for claim, _, clocks in claims
                for clock in clocks
                if clock.due and (reached := rung(clock.due, on)) is not None
            ],
            ignore_conflicts=True,
        )
        mine = Reminder.objects.filter(claim__in=[claim for claim, _, _ in claims])
        won = set(mine.values_list("claim", "clock_id"))
        told = [(claim, customer, _dues(claim, clocks, won)) for claim, customer, clocks in claims]
        told = [each for each in told if each[2]]
        letters = write_letters(drafts=[_draft(*each, on, house.foot if house else "") for each in told])
        mine.filter(claim__in=[row.uid for row in letters if row]).update(letter=F("claim"))
        write_all(
            deeds=[
                Deed(
                    subject=f"customer:{customer.uid}",
                    by="system",
                    verb="reminder written",
                    facts={"letter": str(row.uid) if row else "", "clocks": len(dues), "on": on.isoformat()},
                )
                for (_, customer, dues), row in zip(told, letters, strict=True)
            ]
        )
    return len(told)


def _still_asked(keys: list[int], on: date) -> dict[int, Customer]:
    """Of customers, locked in one order, those who still want reminders and have not had the letter of a day.

    What fell due since that letter waits for the next one.
    """
    rows = list(Customer.objects.select_for_update().filter(pk__in=keys).order_by("pk"))
    letters = Letter.objects.filter(purpose=Purpose.REMINDER, run=on.isoformat())
    had = set(
        letters.filter(recipient__in=[str(row.uid) for row in rows]).values_list("recipient", flat=True)
    )
    return {
        row.pk: row
        for row in rows
        if not row.merged_into_id and row.reminders and not row.ours and row.email and str(row.uid) not in had
    }


def _not_answered(owing: list[Owed], on: date) -> list[Owed]:
    """Without clocks about which something was answered since they were read; their owners are locked."""
    keys = [clock.pk for _, clocks in owing for clock in clocks]
    still = set(quiet(Clock.objects.filter(pk__in=keys), on).values_list("pk", flat=True))
    return [(customer, [each for each in clocks if each.pk in still]) for customer, clocks in owing]


def _dues(claim: UUID, clocks: list[Clock], won: set[tuple[UUID, int]]) -> list[Due]:
    return [
        Due(f"{clock.item.title} ({clock.item.label})", clock.title, clock.due)
        for clock in clocks
        if (claim, clock.pk) in won and clock.due
    ]


def _draft(uid: UUID, customer: Customer, dues: list[Due], on: date, house: str) -> Draft:
    return Draft(
        uid=uid,
        recipient=str(customer.uid),
        address=customer.email,
        purpose=Purpose.REMINDER,
        run=on.isoformat(),
        subject=subject(dues, on),
        text=letter(customer.name, house, dues, on),
    )
