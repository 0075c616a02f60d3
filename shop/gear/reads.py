"""Items with the same serial; the panel of items on a customer's page."""

from typing import Any

from django.db.models import QuerySet

from shop.customers.models import Customer
from shop.gear.models import Identifier, Item


def with_equal_serial(item: Item) -> QuerySet[Item]:
    """Other items whose serial reads the same: a warning, never a block."""
    serials = [mark.value for mark in item.identifiers.all() if mark.kind == Identifier.SERIAL and mark.value]
    alike = Item.objects.filter(
        identifiers__kind=Identifier.SERIAL,
        identifiers__value__in=serials,
        model=item.model,
        merged_into=None,
    )
    return alike.exclude(pk__in=[item.pk, item.merged_into_id or item.pk]).distinct()


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """The customer's items."""
    items = (
        customer.items.filter(merged_into=None)
        .select_related("model")
        .prefetch_related("identifiers")
        .order_by("number")
    )
    return "gear/customer_panel.html", {"items": items, "customer": customer}


def customer_subjects(customer: Customer) -> list[str]:
    """The chains of the customer's items."""
    uids = Item.objects.filter(owner=customer).order_by("pk").values_list("uid", flat=True)
    return [f"item:{uid}" for uid in uids]


def own_subjects(item: Item) -> list[str]:
    """The item as its photographs name it, with those that were merged into it."""
    return [f"item:{each.uid}" for each in (item, *item.merged.order_by("pk"))]
