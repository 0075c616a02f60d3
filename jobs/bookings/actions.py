"""Book a day, move and cancel it, keep it when somebody comes; write the letters about it."""

import logging
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django.db import transaction

from jobs.bookings.models import Booking, DropOffDays
from jobs.bookings.reads import coming, days, done_today, places, standing, waiting, whose
from jobs.bookings.rules import BOOKED_ALREADY, day_refusals, link_refusals
from jobs.flow.models import DropOff
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.actions import write
from shop.links.actions import make_links
from shop.links.models import Link
from shop.links.rules import BY_LINK, LinkFor, Wanted
from shop.post.actions import write_letters
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.wording.reads import letters
from shop.wording.rules import Key
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, Stale, merged_refusals, refuse

log = logging.getLogger(__name__)
BOOKED, MOVED = "drop-off booked", "booking moved"
NO_BOOKING = Refusal("no-booking", "There is no such booking to come any more.", "booking")


def set_days(*, by: Person, seen: int, a_day: int, horizon: int) -> DropOffDays:
    """Say how many drop-offs a day has room for, and how far ahead; what was booked before stays booked."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        row = _locked_days()
        if row.version != seen:
            raise Stale(row.version)
        row.a_day, row.horizon = a_day, horizon
        row.version += 1
        row.save()
        facts = {"a_day": a_day, "horizon": horizon}
        write(subject="workshop", by=str(by.uid), verb="drop-off days set", facts=facts)
    return row


def book(*, by: Person, customer: Customer, day: date, items: Sequence[Item], note: str) -> Booking:
    """Book a day for a customer at the counter."""
    require(by, Can.CHECK_IN)
    return _booked(str(by.uid), customer, day, items, note)


def book_by_link(*, link: Link, day: date, items: Sequence[Item], note: str) -> Booking:
    """The same by a customer's link."""
    return _booked(BY_LINK, link.customer.kept, day, items, note)


def move_booking(*, by: Person, booking: Booking, seen: int, day: date) -> Booking:
    """Move a booking to another day."""
    require(by, Can.CHECK_IN)
    return _moved(str(by.uid), booking, day, seen)


def move_by_link(*, link: Link, booked: date, day: date) -> Booking:
    """The same by a customer's link, which names the booking by its day."""
    return _moved(BY_LINK, _theirs(link, booked), day, None)


def cancel_booking(*, by: Person, booking: Booking, seen: int) -> Booking:
    """Cancel a booking."""
    require(by, Can.CHECK_IN)
    return _cancelled(str(by.uid), booking, seen)


def cancel_by_link(*, link: Link, booked: date) -> Booking:
    """The same by a customer's link."""
    return _cancelled(BY_LINK, _theirs(link, booked), None)


def came(*, by: Person, customer: Customer, drop_off: DropOff, booking: Booking | None) -> None:
    """A drop-off of a customer whom the caller has locked keeps the booking that it is named for, or theirs of today."""
    rows = waiting().select_for_update(of=("self",))
    if booking is None:
        row = rows.filter(whose(customer), day=today()).first()
    else:
        row = rows.filter(pk=booking.pk).first()
        refuse([] if row and row.customer.kept == customer else [NO_BOOKING])
    if row:
        row.drop_off = drop_off
        _changed(str(by.uid), row, "booking kept", {"drop_off": str(drop_off.uid)})


def write_day_before(*, on: date) -> int:
    """The note of the day before, to everybody who is booked for the day after `on`; how many were new."""
    written = 0
    for row in waiting().filter(day=on + timedelta(days=1)).order_by("pk"):
        try:
            with transaction.atomic():
                customer = Customer.objects.select_for_update().get(pk=row.customer.kept.pk)
                still = waiting().filter(pk=row.pk, day=row.day).first()
                written += still is not None and _tell(still, customer, Key.DAY_BEFORE)
        except Exception:
            log.exception("No note of the day before could be written for booking %s.", row.uid)
    return written


def _booked(who: str, customer: Customer, day: date, items: Sequence[Item], note: str) -> Booking:
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        before = standing().filter(whose(customer), day=day).first()
        if before and before.drop_off is None and before.says(note, items):
            return before
        twice = [BOOKED_ALREADY] if before else []
        foreign = any(item.kept.owner_id != customer.pk for item in items)
        found = [Refusal("not-theirs", "Choose gear of theirs.", "items")] if foreign else []
        refuse([*merged_refusals(customer), *_refusals(who, customer, day, fresh=True), *twice, *found])
        made_by = "" if who == BY_LINK else who
        row = Booking.objects.create(customer=customer, day=day, note=note, made_at=now(), made_by=made_by)
        row.items.set(items)
        facts = {"booking": str(row.uid), "day": day.isoformat(), "items": len(items)}
        subject = f"customer:{customer.uid}"
        write(subject=subject, by=who, verb=BOOKED, facts=facts)
        _tell(row, customer, Key.BOOKED)
    return row


def _moved(who: str, booking: Booking, day: date, seen: int | None) -> Booking:
    with transaction.atomic():
        row, customer = _open(booking, seen)
        if row.day == day:
            return row
        twice = [BOOKED_ALREADY] if standing().filter(whose(customer), day=day).exists() else []
        refuse([*_refusals(who, customer, day, fresh=False), *twice])
        facts = {"from": row.day.isoformat(), "to": day.isoformat()}
        row.day = day
        _changed(who, row, MOVED, facts)
        _tell(row, customer, Key.MOVED)
    return row


def _cancelled(who: str, booking: Booking, seen: int | None) -> Booking:
    with transaction.atomic():
        row, customer = _open(booking, seen)
        row.cancelled_at = now()
        _changed(who, row, "booking cancelled", {"day": row.day.isoformat()})
        _tell(row, customer, Key.CANCELLED)
    return row


def _theirs(link: Link, booked: date) -> Booking:
    row = coming(link.customer.kept).filter(day=booked).first()
    refuse([] if row else [NO_BOOKING])
    assert row is not None
    return row


def _open(booking: Booking, seen: int | None) -> tuple[Booking, Customer]:
    """A booking that nobody has come for, and its customer, both locked."""
    customer = Customer.objects.select_for_update().get(pk=booking.customer.kept.pk)
    row = waiting().select_for_update(of=("self",)).filter(pk=booking.pk).first()
    refuse([] if row else [NO_BOOKING])
    assert row is not None
    if seen is not None and row.version != seen:
        raise Stale(row.version)
    return row, customer


def _locked_days() -> DropOffDays:
    """The one row of the days: whoever holds it counts what is booked, and nobody else books meanwhile."""
    DropOffDays.objects.get_or_create(only=True)
    return DropOffDays.objects.select_for_update().get()


def _refusals(who: str, customer: Customer, day: date, *, fresh: bool) -> list[Refusal]:
    """Why a customer, who is locked, cannot come on a day; a link may do less than the counter."""
    rule = days(_locked_days())
    found = day_refusals(day, today(), rule, standing().filter(day=day).count())
    if who != BY_LINK:
        return found
    stand = coming(customer).count() if fresh else 0  # to move one is no more than before
    return found + link_refusals(day, today(), stand, done_today(customer, BY_LINK, [BOOKED, MOVED]))


def _changed(who: str, row: Booking, verb: str, facts: dict[str, Any]) -> None:
    row.version += 1
    row.save(update_fields=["day", "cancelled_at", "drop_off", "version"])
    told = {"booking": str(row.uid)} | facts
    write(subject=f"customer:{row.customer.kept.uid}", by=who, verb=verb, facts=told)


def _tell(row: Booking, customer: Customer, note: Key) -> bool:
    """One letter about a booking as it stands, with a link to change it; whether it was new."""
    if not customer.email:
        return False
    uid = uuid4()
    # A note of the day before once for each day, anything else once for each state of the booking.
    run = f"{row.uid.hex} " + (f"{row.day:%m%d}e" if note is Key.DAY_BEFORE else str(row.version))
    with transaction.atomic():
        (address,) = make_links(wanted=[Wanted(customer, LinkFor.ANSWER, uid)])
        told = [(customer, run, places(row, customer, address))]
        drafts = [replace(each, uid=uid) for each in letters(note, Purpose.BOOKING, told)]
        if write_letters(drafts=drafts)[0] is None:
            transaction.set_rollback(True)
            return False
    return True
