"""The API's doors to orders, and to what to order."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from shop.api.api import CSV, CsvRenderer, Door, problems, reads, verb
from shop.api.shapes import Nothing
from shop.files.reads import attached
from shop.orders import actions
from shop.orders.models import DraftLine, Line, Order, Receipt
from shop.orders.reads import Sheet, one_sheet, order_file, order_paper, sheet, to_order
from shop.orders.shapes import (
    LineReceiveIn,
    OrderCloseIn,
    OrderLinesIn,
    OrderOut,
    OrderSheetOut,
    SendIn,
    TakeBackIn,
    ToOrderList,
)
from shop.paper.api import paper_door
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Lot
from shop.stock.shapes import LotOut
from shop.suppliers.models import Supplier
from shop.workshop.reads import today


def the_order(uid: UUID) -> Order:
    """An order with its supplier."""
    return get_object_or_404(Order.objects.select_related("supplier"), uid=uid)


def the_wish(uid: UUID) -> DraftLine:
    """A line of a draft."""
    rows = DraftLine.objects.select_related("order__supplier", "offer__part")
    return get_object_or_404(rows, uid=uid)


def the_receipt(uid: UUID) -> Receipt:
    """What came of a line at once."""
    rows = Receipt.objects.select_related("line__order__supplier", "line__part", "movement__lot")
    return get_object_or_404(rows, uid=uid)


def file_of(found: Sheet) -> HttpResponse:
    """The lines of an order as a CSV file to keep."""
    return attached(order_file(found), CSV, f"order-{found.order.number}.csv")


def the_line(uid: UUID) -> Line:
    """A line that was sent."""
    return get_object_or_404(Line.objects.select_related("order", "part"), uid=uid)


class Orders(Door):
    @reads(OrderOut, many=True)
    def get(self, request: Request) -> Any:
        """Orders, newest first."""
        require(self.by, Can.SEE)
        return Order.objects.select_related("supplier")


class OneOrder(Door):
    @reads(OrderSheetOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """An order with its lines and what came of each."""
        require(self.by, Can.SEE)
        return one_sheet(uid)


class Draft(Door):
    @verb(OrderLinesIn, OrderSheetOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Sheet:
        """Put so many packs of each offer on the supplier's draft."""
        lines = [(each["offer"], each["packs"]) for each in data["lines"]]
        supplier = get_object_or_404(Supplier, uid=uid)
        return sheet(actions.draft_order(by=self.by, supplier=supplier, lines=lines))


class TakeOff(Door):
    @verb(Nothing, OrderSheetOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Sheet:
        """Take a line off a draft."""
        return sheet(actions.take_off(by=self.by, line=the_wish(uid)))


class Send(Door):
    @verb(SendIn, OrderSheetOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Sheet:
        """Send a draft by e-mail, or say that it was telephoned or printed."""
        return sheet(actions.send_order(by=self.by, order=the_order(uid), seen=seen, **data))


class Receipts(Door):
    @verb(LineReceiveIn, LotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Lot:
        """Receive pieces of a line into a lot."""
        return actions.receive_line(by=self.by, line=the_line(uid), **data)


class TakeBack(Door):
    @verb(TakeBackIn, OrderSheetOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Sheet:
        """Take a wrong receipt back, while all that came is still there."""
        return sheet(actions.take_back_receipt(by=self.by, receipt=the_receipt(uid), **data))


class OrderFile(Door):
    renderer_classes = [CsvRenderer, JSONRenderer]

    @extend_schema(
        operation_id="order_file",
        summary="The lines of an order, as the CSV that its letter has.",
        parameters=[OpenApiParameter("format", exclude=True)],
        responses={(200, CSV): OpenApiResponse(OpenApiTypes.STR, "The lines."), **problems(404)},
    )
    def get(self, request: Request, uid: UUID) -> HttpResponse:
        require(self.by, Can.SEE)
        return file_of(one_sheet(uid))


class Close(Door):
    @verb(OrderCloseIn, OrderSheetOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Sheet:
        """Close an order of which not everything came."""
        return sheet(actions.close_order(by=self.by, order=the_order(uid), **data))


class ToOrder(Door):
    @reads(ToOrderList)
    def get(self, request: Request) -> Any:
        """The parts of which no more than their minimum is free, and how many to order."""
        require(self.by, Can.SEE)
        return {"day": today(), "parts": to_order(today())}


urlpatterns = [
    path("suppliers/<uuid:uid>/draft", Draft.as_view(), name="draft_order"),
    path("orders", Orders.as_view(), name="orders"),
    path("orders/<uuid:uid>", OneOrder.as_view(), name="order"),
    path("draft-lines/<uuid:uid>/take-off", TakeOff.as_view(), name="take_off"),
    path("orders/<uuid:uid>/send", Send.as_view(), name="send_order"),
    path("orders/<uuid:uid>/close", Close.as_view(), name="close_order"),
    path("orders/<uuid:uid>/order.pdf", paper_door(order_paper), name="order_paper"),
    path("orders/<uuid:uid>/order.csv", OrderFile.as_view(), name="order_file"),
    path("receipts/<uuid:uid>/take-back", TakeBack.as_view(), name="take_back_receipt"),
    path("order-lines/<uuid:uid>/receipts", Receipts.as_view(), name="receive_line"),
    path("parts/to-order", ToOrder.as_view(), name="to_order"),
]
