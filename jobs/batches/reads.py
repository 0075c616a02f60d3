"""Which batches wait for the worker, which batch brought something in, and the way to them."""

from typing import Any

from django.db.models import QuerySet

from jobs.batches.models import Batch, Brought
from jobs.batches.rules import WORKING
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.staff.models import Person
from shop.staff.rules import Can


def working() -> QuerySet[Batch]:
    """The batches that the worker goes on with, the oldest first."""
    return Batch.objects.filter(state__in=WORKING).order_by("pk")


def office_panel(person: Person) -> tuple[str, dict[str, Any]]:
    """The way to what is brought in, for whoever may."""
    return "batches/office_panel.html", {"may": person.may(Can.BRING_IN)}


def customer_subjects(customer: Customer) -> list[str]:
    """The chains of the batch that brought a customer in."""
    return _subjects(customer=customer)


def item_subjects(item: Item) -> list[str]:
    """The chains of the batch that brought an item in."""
    return _subjects(item=item)


def _subjects(**made: Any) -> list[str]:
    return [
        f"batch:{uid}"
        for uid in Batch.objects.filter(brought__in=Brought.objects.filter(**made)).values_list(
            "uid", flat=True
        )
    ]
