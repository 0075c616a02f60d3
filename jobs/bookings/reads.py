"""Which days have room, who is coming, and which gear a booking speaks for."""

from datetime import date, datetime, time
from typing import Any

from django.db.models import Count, Q, QuerySet

from jobs.bookings.models import Booking, DropOffDays
from jobs.bookings.rules import MOST_OFFERED, Days
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.wording.rules import day_in
from shop.workshop.reads import today, workshop, zone


def days(row: DropOffDays | None = None) -> Days:
    """The days as the workshop set them, or by a row that is locked; none before it did."""
    house, row = workshop(), row or DropOffDays.objects.first()
    if house is None or row is None:
        return Days()
    return Days(row.a_day, row.horizon, house.closed_weekdays, house.closed_days)


def offered() -> list[tuple[date, int]]:
    """The next open days that have room, each with how much."""
    rule, present = days(), today()
    booked = standing().filter(day__gt=present).values_list("day").annotate(n=Count("pk"))
    taken = dict(booked)
    left = [(day, rule.a_day - taken.get(day, 0)) for day in rule.ahead(present)]
    return [(day, room) for day, room in left if room > 0][:MOST_OFFERED]


def bookings() -> QuerySet[Booking]:
    """Bookings with who and what they are about."""
    rows = Booking.objects.select_related("customer__merged_into", "drop_off")
    return rows.prefetch_related("items__model")


def standing() -> QuerySet[Booking]:
    """Those that were not cancelled: they take room."""
    return Booking.objects.filter(cancelled_at=None)


def waiting() -> QuerySet[Booking]:
    """Those of them that nobody has come for yet."""
    return bookings().filter(cancelled_at=None, drop_off=None)


def whose(customer: Customer) -> Q:
    """Of a customer and of those merged into them."""
    return Q(customer=customer) | Q(customer__merged_into=customer)


def coming(customer: Customer) -> QuerySet[Booking]:
    """A customer's own, from today on."""
    return waiting().filter(whose(customer), day__gte=today()).order_by("day")


def done_today(customer: Customer, by: str, verbs: list[str]) -> int:
    """How often somebody did one of these about a customer today, as the journal has it."""
    start = datetime.combine(today(), time.min, tzinfo=zone())
    rows = Entry.objects.filter(subject=f"customer:{customer.uid}", by=by, verb__in=verbs, at__gte=start)
    return rows.count()


def places(row: Booking, customer: Customer, answer: str) -> dict[str, str | list[str]]:
    """What fills the places of a letter about a booking."""
    house = workshop()
    return {
        "customer": customer.name,
        "day": day_in(customer.language, row.day),
        "items": [f"{item.title} ({item.label})" for item in row.items.select_related("model")],
        "answer": answer,
        "workshop": house.foot if house else "",
    }


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """The customer's bookings to come, and the way to make one."""
    panel = {"bookings": coming(customer), "customer": customer, "offers": days().a_day > 0}
    return "bookings/customer_panel.html", panel
