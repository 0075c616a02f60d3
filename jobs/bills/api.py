"""The API's doors to bills and payments."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.bills import actions
from jobs.bills.models import Bill, Payment
from jobs.bills.reads import bills
from jobs.bills.shapes import BillIn, BillOut, PaymentIn, PaymentOut, WhyIn
from jobs.flow.models import DropOff
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can


def the_bill(uid: UUID) -> Bill:
    """A bill."""
    return get_object_or_404(bills(), uid=uid)


def the_payment(uid: UUID) -> Payment:
    """A mark of what was paid."""
    return get_object_or_404(Payment.objects.select_related("drop_off"), uid=uid)


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


urlpatterns = [
    path("bills", Bills.as_view(), name="bills"),
    path("bills/<uuid:uid>", OneBill.as_view(), name="bill"),
    path("bills/<uuid:uid>/counter", CounterBill.as_view(), name="counter_bill"),
    path("drop-offs/<uuid:uid>/bills", MakeBill.as_view(), name="make_bill"),
    path("drop-offs/<uuid:uid>/payments", MarkPaid.as_view(), name="mark_paid"),
    path("payments/<uuid:uid>/take-back", TakeBackPayment.as_view(), name="take_back_payment"),
]
