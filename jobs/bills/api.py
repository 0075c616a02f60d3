"""The API's doors to bills, payments and the books."""

from datetime import date
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from jobs.bills import actions
from jobs.bills.models import Bill, Payment
from jobs.bills.reads import bill_paper, bills, books
from jobs.bills.shapes import BillIn, BillOut, PaymentIn, PaymentOut, PeriodIn, WhyIn
from jobs.flow.models import DropOff
from shop.api.api import CSV, CsvRenderer, Door, problems, reads, verb
from shop.files.reads import attached
from shop.paper.api import paper_door
from shop.staff.reads import require
from shop.staff.rules import Can


def the_bill(uid: UUID) -> Bill:
    """A bill."""
    return get_object_or_404(bills(), uid=uid)


def the_payment(uid: UUID) -> Payment:
    """A mark of what was paid."""
    return get_object_or_404(Payment.objects.select_related("drop_off"), uid=uid)


def books_file(first: date, last: date) -> HttpResponse:
    """The books of a period as a file to keep."""
    return attached(books(first, last).encode(), CSV, f"books-{first.isoformat()}-{last.isoformat()}.csv")


class Bills(Door):
    @reads(BillOut, many=True)
    def get(self, request: Request) -> Any:
        """Every bill, newest first."""
        require(self.by, Can.SEE)
        return bills().order_by()


class OneBill(Door):
    @reads(BillOut)
    def get(self, request: Request, uid: UUID) -> Bill:
        """One bill."""
        require(self.by, Can.SEE)
        return the_bill(uid)


class MakeBill(Door):
    @verb(BillIn, BillOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Bill:
        """Bill what is signed off and not billed yet."""
        return actions.make_bill(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)


class CounterBill(Door):
    @verb(WhyIn, BillOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Bill:
        """Counter a bill that was wrong."""
        return actions.counter_bill(by=self.by, bill=the_bill(uid), **data)


class MarkPaid(Door):
    @verb(PaymentIn, PaymentOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Payment:
        """Mark a deposit, a payment or a refund."""
        return actions.mark_paid(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)


class TakeBackPayment(Door):
    @verb(WhyIn, PaymentOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Payment:
        """Take back a mark that was wrong."""
        return actions.take_back_payment(by=self.by, payment=the_payment(uid), **data)


class Books(Door):
    renderer_classes = [CsvRenderer, JSONRenderer]

    @extend_schema(
        operation_id="books",
        summary="Bills and payments of a period as CSV, a row for each rate of a bill.",
        parameters=[
            OpenApiParameter("format", exclude=True),
            OpenApiParameter("first", OpenApiTypes.DATE),
            OpenApiParameter("last", OpenApiTypes.DATE),
        ],
        responses={(200, CSV): OpenApiResponse(OpenApiTypes.STR, "The books."), **problems()},
    )
    def get(self, request: Request) -> HttpResponse:
        require(self.by, Can.SEE)
        shape = PeriodIn(data=request.query_params.dict())
        shape.is_valid(raise_exception=True)
        return books_file(**shape.validated_data)


urlpatterns = [
    path("bills", Bills.as_view(), name="bills"),
    path("bills/<uuid:uid>", OneBill.as_view(), name="bill"),
    path("bills/<uuid:uid>/bill.pdf", paper_door(bill_paper), name="bill_paper"),
    path("bills/<uuid:uid>/counter", CounterBill.as_view(), name="counter_bill"),
    path("drop-offs/<uuid:uid>/bills", MakeBill.as_view(), name="make_bill"),
    path("drop-offs/<uuid:uid>/payments", MarkPaid.as_view(), name="mark_paid"),
    path("payments/<uuid:uid>/take-back", TakeBackPayment.as_view(), name="take_back_payment"),
    path("books", Books.as_view(), name="books"),
]
