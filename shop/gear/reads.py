"""Items with the same serial; the panel of items on a customer's page; items as the find box knows them."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop.customers.models import Customer
from shop.gear.models import Identifier, Item, Member
from shop.paper.rules import Tag, Tags
from shop.search.rules import Kind, Thing


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


def thing(item: Item) -> Thing:
    """An item as it is found. Its owner is found under the customer, whose name may change."""
    return Thing(
        subject=f"item:{item.uid}",
        kind=Kind.ITEM,
        number=item.label,
        title=item.title,
        note=item.marks,
        codes=tuple(mark.value for mark in item.identifiers.all()),
        address=reverse("item", args=[item.uid]),
    )


def findable() -> tuple[QuerySet[Item], Callable[[Item], Thing]]:
    """Every item, for the find box."""
    return Item.objects.select_related("model").prefetch_related("identifiers"), thing


def item_tag(uid: UUID) -> Tags:
    """The label that stays on an item: its number, what it is, and its marks."""
    rows = Item.objects.select_related("model").prefetch_related("identifiers")
    item = get_object_or_404(rows, uid=uid)
    tag = Tag(item.label, (item.title, item.marks), "")
    return Tags(f"item-tag-{item.label}", f"Tag of {item.label}", [tag])
