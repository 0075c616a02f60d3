"""Which answers wait, what is due of a customer's gear, and which clocks no letter is written about."""

from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from jobs.answers.models import Answer
from jobs.answers.rules import AHEAD, AT_ONCE, Said
from jobs.bookings.reads import standing, whose
from shop.clocks.models import Clock
from shop.clocks.reads import due_by
from shop.customers.models import Customer
from shop.workshop.reads import today

SHOWN = 10


def answers() -> QuerySet[Answer]:
    """Answers with what they are about; `booked_on` is the day for which that gear is booked all the same."""
    rows = Answer.objects.select_related(
        "customer__merged_into", "item__model", "clock__item__model", "new_address", "settled__by"
    )
    booked = standing().filter(drop_off=None, items=OuterRef("gear")).order_by("day")
    gear = Coalesce("item", "clock__item")
    return rows.annotate(gear=gear, booked_on=Subquery(booked.values("day")[:1]))


def waiting() -> QuerySet[Answer]:
    """Those that the counter has not dealt with."""
    return answers().exclude(said__in=AT_ONCE).filter(settled=None)


def dues(customer: Customer) -> list[Clock]:
    """What of a customer's gear in use is due or soon will be, the soonest first; what has no history counts as due."""
    rows = due_by(today() + AHEAD).filter(item__owner=customer)
    return sorted(rows, key=lambda clock: (clock.due or date.min, clock.item.number, clock.key))


def quiet(clocks: QuerySet[Clock], on: date) -> QuerySet[Clock]:
    """Clocks without those about which no letter is written: an answer of the owner waits, or a drop-off is booked."""
    # One equation, so that the database can look owners up: it compares each clock with each answer where there is an "or".
    owner, of_owner = Coalesce("customer__merged_into", "customer"), {"owner": OuterRef("item__owner")}
    rest = Answer.objects.filter(settled=None).annotate(owner=owner)
    booked = standing().filter(drop_off=None, day__gte=on).annotate(owner=owner)
    return (
        clocks.exclude(item__owner__in=rest.filter(said=Said.ADDRESS).values("owner"))
        .exclude(item__owner__in=booked.filter(items=None).values("owner"))
        .exclude(Exists(rest.filter(clock=OuterRef("pk"), **of_owner)))
        .exclude(Exists(rest.filter(item=OuterRef("item"), **of_owner)))
        .exclude(Exists(booked.filter(items=OuterRef("item"), **of_owner)))
    )


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """The newest answers of a customer."""
    rows = answers().filter(whose(customer)).order_by("-pk")[:SHOWN]
    return "answers/customer_panel.html", {"answers": rows}
