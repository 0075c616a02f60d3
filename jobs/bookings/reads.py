"""Which days have room, who is coming, and which gear a booking speaks for."""

from collections import Counter
from datetime import date, datetime, time
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.urls import reverse

from jobs.bookings.models import Booking, DropOffDays
from jobs.bookings.rules import MOST_OFFERED, SOON, Days
from jobs.flow.models import Job
from jobs.flow.rules import OPEN
from shop.catalogue.reads import newest, renewed
from shop.clocks.models import Clock
from shop.clocks.reads import due_by
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.stock.rules import Claim
from shop.words.rules import day_in
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


def claims() -> list[Claim]:
    """What booked gear will take from the store: the parts of the newest plans for those of its clocks that are due by then.

    Gear that is here speaks for its parts by its job; a booking that names no gear speaks for nothing.
    """
    rows = list(waiting().filter(day__gte=today()).order_by("day", "pk"))
    if not rows:
        return []
    here = set(Job.objects.filter(leg__in=OPEN, item__bookings__in=rows).values_list("item", flat=True))
    clocks: dict[int, list[Clock]] = {}
    for clock in due_by(rows[-1].day + SOON).filter(item__bookings__in=rows).distinct():
        clocks.setdefault(clock.item_id, []).append(clock)
    gear = [(row, item) for row in rows for item in row.items.all() if item.pk not in here]
    plans = {
        (each.model_id, each.plan.clock_key): each.plan
        for each in newest({item.model_id for _, item in gear})
    }
    found = list[Claim]()
    for row, item in gear:
        due = [clock.key for clock in clocks.get(item.pk, ()) if not clock.due or clock.due <= row.day + SOON]
        told = (str(row.uid), f"booked by {row.customer.kept.label}", reverse("bookings"))
        wanted = (renewed(plan) for key in due if (plan := plans.get((item.model_id, key))))
        for number, pieces in sum(wanted, Counter[str]()).items():
            found.append(Claim(number, pieces, row.day, *told))
    return found


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
    """What fills the places of a letter about a booking, beside name and workshop."""
    return {
        "day": day_in(customer.language, row.day),
        "items": [
            f"{item.title_in(customer.language)} ({item.label})" for item in row.items.select_related("model")
        ],
        "answer": answer,
    }


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """The customer's bookings to come, and the way to make one."""
    panel = {"bookings": coming(customer), "customer": customer, "offers": days().a_day > 0}
    return "bookings/customer_panel.html", panel
