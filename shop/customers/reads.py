"""Customers as the find box knows them, and what it offers when somebody is not found."""

from collections.abc import Callable, Iterable
from typing import Any

from django.db.models import Q, QuerySet
from django.urls import reverse

from shop.customers.models import Customer
from shop.search.rules import Kind, Thing


def thing(customer: Customer) -> Thing:
    """A customer as it is found: under what those merged into them were found by, too."""
    return found_as(customer, customer.merged.all())


def found_as(customer: Customer, others: Iterable[Customer]) -> Thing:
    """The same where it is known who was merged into them."""
    merged = [part for row in others for part in (row.label, row.name, row.phone, row.email)]
    return Thing(
        subject=f"customer:{customer.uid}",
        kind=Kind.CUSTOMER,
        number=customer.label,
        title=customer.name,
        note=" · ".join(part for part in (customer.phone, customer.email) if part),
        codes=tuple(part for part in merged if part),
        address=reverse("customer", args=[customer.uid]),
    )


def reached_alike(customer: Customer) -> QuerySet[Customer]:
    """Others with the same telephone or e-mail, ten at most: perhaps the same person, perhaps a family."""
    same = Q()
    for column in ("phone", "email"):
        if value := getattr(customer, column):
            same |= Q(**{column: value})
    rows = Customer.objects.filter(same, merged_into=None).exclude(pk=customer.pk).order_by("number")
    return rows[:10] if same else Customer.objects.none()


def findable() -> tuple[QuerySet[Customer], Callable[[Customer], Thing]]:
    """Every customer who was not merged into another, for the find box."""
    return Customer.objects.filter(merged_into=None).prefetch_related("merged"), thing


def find_panel(asked: str) -> tuple[str, dict[str, Any]]:
    """The way to a new customer."""
    return "customers/find_panel.html", {"asked": asked}
