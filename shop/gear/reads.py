"""Items with the same serial; the panel of items on a customer's page."""

from typing import Any

from django.db.models import QuerySet

from shop.customers.models import Customer
from shop.gear.models import Identifier, Item, Member


def with_equal_serial(item: Item) -> QuerySet[Item]:
    """Other items whose serial reads the same: a warning, never a block."""
    serials = [mark.value for mark in item.identifiers.all() if mark.kind == Identifier.SERIAL and mark.value]
    return Item.objects.filter(
        identifiers__kind=Identifier.SERIAL, identifiers__value__in=serials, model=item.model
    ).exclude(pk=item.pk)


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """The customer's items."""
    items = customer.items.select_related("model").prefetch_related("identifiers").order_by("number")
    return "gear/customer_panel.html", {"items": items, "customer": customer}


def companions(item: Item) -> list[int]:
    """The keys of the other items of the set that an item belongs to now."""
    sets = Member.objects.filter(item=item, to_day=None).values("gear_set")
    rows = Member.objects.filter(gear_set__in=sets, to_day=None).exclude(item=item)
    return list(rows.values_list("item_id", flat=True))
