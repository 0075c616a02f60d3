"""The API's doors to items."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request

from shop.api.api import JSON, Door, reads, sends, verb
from shop.files.models import Photograph
from shop.files.reads import photographs, stored
from shop.files.rules import MEDIA_TYPE
from shop.gear import actions
from shop.gear.models import Item
from shop.gear.shapes import ItemIn, ItemOut, PhotographIn, PhotographOut
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


class ItemPhotographs(Door):
    parser_classes = [MultiPartParser]

    @reads(PhotographOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The photographs of an item, newest first."""
        require(self.by, Can.SEE)
        return photographs([f"item:{get_object_or_404(Item, uid=uid).uid}"])

    @verb(PhotographIn, PhotographOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Photograph:
        """Keep a photograph of an item."""
        return actions.photograph_item(by=self.by, item=get_object_or_404(Item, uid=uid), **data)


class OnePhotograph(Door):
    def perform_content_negotiation(self, request: Request, force: bool = False) -> tuple[BaseRenderer, str]:
        """Whoever asks for image/jpeg alone is served too; an error is a problem document as everywhere."""
        return JSONRenderer(), JSON

    @sends(MEDIA_TYPE)
    def get(self, request: Request, uid: UUID) -> bytes:
        """The bytes of a photograph, whatever it is of."""
        require(self.by, Can.SEE)
        return stored(get_object_or_404(Photograph.objects.select_related("file"), uid=uid).file)


urlpatterns = [
    path("items", Items.as_view(), name="items"),
    path("items/<uuid:uid>", OneItem.as_view(), name="item"),
    path("items/<uuid:uid>/photographs", ItemPhotographs.as_view(), name="item_photographs"),
    path("photographs/<uuid:uid>", OnePhotograph.as_view(), name="photograph"),
]
