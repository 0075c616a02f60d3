"""Sets with what their shape shows; panels on the pages of a customer and of an item."""

from typing import Any

from django.db.models import QuerySet

from shop.customers.models import Customer
from shop.gear.models import GearSet, Item


def sets() -> QuerySet[GearSet]:
    """Sets with their owners and members."""
    rows = GearSet.objects.select_related("owner")
    return rows.prefetch_related("members__item__model", "members__item__identifiers")


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """The customer's sets."""
    return "sets/panel.html", {"sets": sets().filter(owner=customer).order_by("name"), "customer": customer}


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """The set that an item belongs to now."""
    return "sets/panel.html", {"sets": sets().filter(members__item=item, members__to_day=None)}
