"""Customers as the find box knows them, and what it offers when somebody is not found."""

from collections.abc import Callable, Iterable
from typing import Any

from django.db.models import QuerySet
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


def findable() -> tuple[QuerySet[Customer], Callable[[Customer], Thing]]:
    """Every customer who was not merged into another, for the find box."""
    return Customer.objects.filter(merged_into=None).prefetch_related("merged"), thing


def find_panel(asked: str) -> tuple[str, dict[str, Any]]:
    """The way to a new customer."""
    return "customers/find_panel.html", {"asked": asked}
