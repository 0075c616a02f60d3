"""The API's doors to drop-offs."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from jobs.checkin import actions
from jobs.checkin.reads import bag_tags, ticket, ticket_and_tags
from jobs.checkin.shapes import CheckInIn, ItemiseIn, LinesIn, ManyIn
from jobs.flow.models import DropOff, Line
from jobs.flow.shapes import DropOffOut, LineOut
from shop.api.api import Door, reads, verb
from shop.files.models import Photograph
from shop.files.reads import photographs
from shop.gear.models import Item
from shop.gear.shapes import MergeItemIn, OneItemOut, PhotographIn, PhotographOut, SplitIn
from shop.paper.api import paper_door
from shop.staff.reads import require
from shop.staff.rules import Can


def drop_offs() -> Any:
    """Drop-offs with what their shape shows."""
    return DropOff.objects.select_related("customer", "bringer", "payer", "collector").prefetch_related(
        "lines__item", "lines__job", "lines__drop_off"
    )


class DropOffs(Door):
    @reads(DropOffOut, many=True)
    def get(self, request: Request) -> Any:
        """Every drop-off."""
        require(self.by, Can.SEE)
        return drop_offs()

    @verb(CheckInIn, DropOffOut, creates=True)
    def post(self, request: Request, data: Any) -> Any:
        """Check gear in."""
        row = actions.check_in(by=self.by, **data)
        return drop_offs().get(pk=row.pk)


class OneDropOff(Door):
    @reads(DropOffOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """One drop-off."""
        require(self.by, Can.SEE)
        return get_object_or_404(drop_offs(), uid=uid)


class AddLines(Door):
    @verb(LinesIn, DropOffOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Any:
        """Put more lines on a drop-off."""
        row = get_object_or_404(DropOff, uid=uid)
        actions.add_lines(by=self.by, drop_off=row, seen=seen, **data)
        return drop_offs().get(pk=row.pk)


class Many(Door):
    @verb(ManyIn, DropOffOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Any:
        """Add many items of one model at once and check them in."""
        row = get_object_or_404(DropOff, uid=uid)
        actions.check_in_many(by=self.by, drop_off=row, seen=seen, **data)
        return drop_offs().get(pk=row.pk)


class Itemise(Door):
    @verb(ItemiseIn, LineOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Line:
        """Say which item a bagged line is."""
        return actions.itemise(by=self.by, line=get_object_or_404(Line, uid=uid), **data)


class MergeItem(Door):
    @verb(MergeItemIn, OneItemOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Item:
        """Merge this item into another, which is the answer; refused while this one has an open job."""
        lose = get_object_or_404(Item, uid=uid)
        return actions.merge_items(by=self.by, keep=data["into"], lose=lose, seen=seen)


class SplitItem(Door):
    @verb(SplitIn, OneItemOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Item:
        """Split an item in two; the answer is the second one, which has the chosen marks."""
        return actions.split_item(by=self.by, item=get_object_or_404(Item, uid=uid), seen=seen, **data)


class LinePhotographs(Door):
    parser_classes = [MultiPartParser]

    def line(self, uid: UUID) -> Line:
        return get_object_or_404(Line.objects.select_related("drop_off"), uid=uid)

    @reads(PhotographOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The photographs of a line, newest first."""
        require(self.by, Can.SEE)
        return photographs([f"line:{self.line(uid).uid}"])

    @verb(PhotographIn, PhotographOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Photograph:
        """Keep a photograph of what was put on the counter."""
        return actions.photograph_line(by=self.by, line=self.line(uid), **data)


urlpatterns = [
    path("drop-offs", DropOffs.as_view(), name="drop_offs"),
    path("drop-offs/<uuid:uid>/lines", AddLines.as_view(), name="add_lines"),
    path("drop-offs/<uuid:uid>/many", Many.as_view(), name="many"),
    path("lines/<uuid:uid>/item", Itemise.as_view(), name="itemise"),
    path("drop-offs/<uuid:uid>", OneDropOff.as_view(), name="drop_off"),
    path("drop-offs/<uuid:uid>/ticket.pdf", paper_door(ticket), name="ticket"),
    path("drop-offs/<uuid:uid>/tags.pdf", paper_door(bag_tags), name="bag_tags"),
    path("drop-offs/<uuid:uid>/papers.pdf", paper_door(ticket_and_tags), name="ticket_and_tags"),
    path("items/<uuid:uid>/merge", MergeItem.as_view(), name="merge_item"),
    path("items/<uuid:uid>/split", SplitItem.as_view(), name="split_item"),
    path("lines/<uuid:uid>/photographs", LinePhotographs.as_view(), name="line_photographs"),
]
