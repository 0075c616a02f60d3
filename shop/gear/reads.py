"""Items with the same serial; the panel of items on a customer's page; the tag on an item."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from shop.customers.models import Customer
from shop.gear.models import Identifier, Item
from shop.paper.rules import Tag, Tags


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


def item_tag(uid: UUID) -> Tags:
    """The label that stays on an item: its number, what it is, and its marks."""
    rows = Item.objects.select_related("model").prefetch_related("identifiers")
    item = get_object_or_404(rows, uid=uid)
    tag = Tag(item.label, (item.title, item.marks), "")
    return Tags(f"item-tag-{item.label}", f"Tag of {item.label}", [tag])
