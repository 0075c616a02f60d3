"""Items with the same serial; the panel of items on a customer's page; items as the find box knows them."""

from collections.abc import Callable, Iterable
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop.customers.models import Customer
from shop.gear.models import Identifier, Item, Member, marked
from shop.paper.rules import Tag, Tags
from shop.search.rules import Kind, Thing


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


def companions(item: Item) -> list[int]:
    """The keys of the other items of the set that an item belongs to now."""
    sets = Member.objects.filter(item=item, to_day=None).values("gear_set")
    rows = Member.objects.filter(gear_set__in=sets, to_day=None).exclude(item=item)
    return list(rows.values_list("item_id", flat=True))


def belonging(items: Iterable[int]) -> dict[int, list[int]]:
    """Of items given by key, those of each one's set among them; asked of the database once."""
    rows = list(
        Member.objects.filter(item__in=list(items), to_day=None)
        .values_list("gear_set_id", "item_id")
        .order_by("item")
    )
    return {
        item: [other for its_set, other in rows if its_set == gear_set and other != item]
        for gear_set, item in rows
    }


def thing(item: Item) -> Thing:
    """An item as it is found, under the numbers of those merged into it too.

    Its owner is found under the customer, whose name may change.
    """
    return found_as(item, item.identifiers.all(), item.merged.all())


def found_as(item: Item, marks: Iterable[Identifier], others: Iterable[Item]) -> Thing:
    """The same where its marks and what was merged into it are known."""
    marks = list(marks)
    codes = [mark.value for mark in marks] + [row.label for row in others]
    return Thing(
        subject=f"item:{item.uid}",
        kind=Kind.ITEM,
        number=item.label,
        title=item.title,
        note=marked(marks),
        codes=tuple(codes),
        address=reverse("item", args=[item.uid]),
    )


def findable() -> tuple[QuerySet[Item], Callable[[Item], Thing]]:
    """Every item that was not merged into another, for the find box."""
    rows = Item.objects.filter(merged_into=None).select_related("model")
    return rows.prefetch_related("identifiers", "merged"), thing


def item_tag(uid: UUID) -> Tags:
    """The label that stays on an item: its number, what it is, and its marks."""
    rows = Item.objects.select_related("model").prefetch_related("identifiers")
    item = get_object_or_404(rows, uid=uid)
    tag = Tag(item.label, (item.title, item.marks), "")
    return Tags(f"item-tag-{item.label}", f"Tag of {item.label}", [tag])


def customer_subjects(customer: Customer) -> list[str]:
    """The chains of the customer's items."""
    uids = Item.objects.filter(owner=customer).order_by("pk").values_list("uid", flat=True)
    return [f"item:{uid}" for uid in uids]


def own_subjects(item: Item) -> list[str]:
    """The item as its photographs name it, with those that were merged into it."""
    return [f"item:{each.uid}" for each in (item, *item.merged.order_by("pk"))]
