"""The API's doors to drop-offs."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.checkin import actions
from jobs.checkin.reads import bag_tags, ticket
from jobs.checkin.shapes import CheckInIn, ItemiseIn, LinesIn, ManyIn
from jobs.flow.models import DropOff, Line
from jobs.flow.shapes import DropOffOut, LineOut
from shop.api.api import Door, reads, verb
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
    def post(self, request: Request, data: Any) -> DropOff:
        """Check gear in."""
        return actions.check_in(by=self.by, **data)


class OneDropOff(Door):
    @reads(DropOffOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """One drop-off."""
        require(self.by, Can.SEE)
        return get_object_or_404(drop_offs(), uid=uid)


class AddLines(Door):
    @verb(LinesIn, DropOffOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> DropOff:
        """Put more lines on a drop-off."""
        row = get_object_or_404(DropOff, uid=uid)
        return actions.add_lines(by=self.by, drop_off=row, seen=seen, **data)


class Many(Door):
    @verb(ManyIn, DropOffOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> DropOff:
        """Add many items of one model at once and check them in."""
        row = get_object_or_404(DropOff, uid=uid)
        return actions.check_in_many(by=self.by, drop_off=row, seen=seen, **data)


class Itemise(Door):
    @verb(ItemiseIn, LineOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Line:
        """Say which item a bagged line is."""
        return actions.itemise(by=self.by, line=get_object_or_404(Line, uid=uid), **data)


urlpatterns = [
    path("drop-offs", DropOffs.as_view(), name="drop_offs"),
    path("drop-offs/<uuid:uid>/lines", AddLines.as_view(), name="add_lines"),
    path("drop-offs/<uuid:uid>/many", Many.as_view(), name="many"),
    path("lines/<uuid:uid>/item", Itemise.as_view(), name="itemise"),
    path("drop-offs/<uuid:uid>", OneDropOff.as_view(), name="drop_off"),
    path("drop-offs/<uuid:uid>/ticket.pdf", paper_door(ticket), name="ticket"),
    path("drop-offs/<uuid:uid>/tags.pdf", paper_door(bag_tags), name="bag_tags"),
]
