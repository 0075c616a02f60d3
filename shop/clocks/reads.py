"""Clocks that fall due, and their panel on an item's page."""

from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from shop.clocks.models import Clock
from shop.gear.models import Item
from shop.workshop.reads import today


def due_by(day: date) -> QuerySet[Clock]:
    """Clocks due on or before a day, with item, model and owner; those without history count as due."""
    rows = Clock.objects.filter(Q(due__lte=day) | Q(due__isnull=True), item__merged_into=None)
    return rows.select_related("item__model", "item__owner").order_by("item__owner", "item__number", "key")


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """The item's clocks."""
    return "clocks/item_panel.html", {"clocks": item.clocks.order_by("key"), "day": today()}
