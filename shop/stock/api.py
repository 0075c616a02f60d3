"""The API's doors to the store."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock import actions
from shop.stock.models import Content, Lot, Part
from shop.stock.shapes import ContentIn, ContentOut, LotOut, OpenKitIn, PartIn, PartOut, ReceiveIn, UseIn


class Parts(Door):
    @reads(PartOut, many=True)
    def get(self, request: Request) -> Any:
        """Parts with their lots."""
        require(self.by, Can.SEE)
        return Part.objects.prefetch_related("lots__part", "contents__part")

    @verb(PartIn, PartOut, creates=True)
    def post(self, request: Request, data: Any) -> Part:
        """Add a part."""
        return actions.add_part(by=self.by, **data)


class Receive(Door):
    @verb(ReceiveIn, LotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Lot:
        """Receive a quantity of a lot."""
        return actions.receive(by=self.by, part=get_object_or_404(Part, uid=uid), **data)


class Use(Door):
    @verb(UseIn, LotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Lot:
        """Take a quantity of a lot for something other than a job."""
        return actions.use_up(by=self.by, lot=get_object_or_404(Lot, uid=uid), **data)


class Contents(Door):
    @verb(ContentIn, ContentOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Content:
        """Say what a maker's bagged kit holds."""
        return actions.add_content(by=self.by, kit=get_object_or_404(Part, uid=uid), **data)


class OpenKit(Door):
    @verb(OpenKitIn, LotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Lot:
        """Open kits of a lot."""
        lot = get_object_or_404(Lot.objects.select_related("part"), uid=uid)
        return actions.open_kit(by=self.by, lot=lot, **data)


urlpatterns = [
    path("parts/<uuid:uid>/contents", Contents.as_view(), name="contents"),
    path("lots/<uuid:uid>/open", OpenKit.as_view(), name="open_kit"),
    path("parts", Parts.as_view(), name="parts"),
    path("parts/<uuid:uid>/lots", Receive.as_view(), name="receive"),
    path("lots/<uuid:uid>/use", Use.as_view(), name="use_lot"),
]
