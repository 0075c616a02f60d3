"""The API's doors to items."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.gear import actions
from shop.gear.models import Item
from shop.gear.reads import item_tag
from shop.gear.shapes import ItemIn, ItemOut
from shop.paper.api import paper_door
from shop.staff.reads import require
from shop.staff.rules import Can


def items() -> Any:
    """Items with what their shape shows."""
    return Item.objects.select_related("model", "owner").prefetch_related("identifiers")


class Items(Door):
    @reads(ItemOut, many=True)
    def get(self, request: Request) -> Any:
        """Every item."""
        require(self.by, Can.SEE)
        return items()

    @verb(ItemIn, ItemOut, creates=True)
    def post(self, request: Request, data: Any) -> Item:
        """Add an item."""
        return actions.add_item(by=self.by, **data)


class OneItem(Door):
    @reads(ItemOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """One item."""
        require(self.by, Can.SEE)
        return get_object_or_404(items(), uid=uid)


urlpatterns = [
    path("items", Items.as_view(), name="items"),
    path("items/<uuid:uid>", OneItem.as_view(), name="item"),
    path("items/<uuid:uid>/tag.pdf", paper_door(item_tag), name="item_tag"),
]
