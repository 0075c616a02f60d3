"""The API's doors to amounts that are put to customers; customers answer on pages only."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import DropOff
from jobs.quotes import actions
from jobs.quotes.models import Quote
from jobs.quotes.shapes import QuoteIn, QuoteOut
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.staff.reads import require
from shop.staff.rules import Can


class Quotes(Door):
    @reads(QuoteOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """What was put to the customer of a drop-off, and what became of it."""
        require(self.by, Can.SEE)
        return Quote.objects.filter(drop_off=get_object_or_404(DropOff, uid=uid)).select_related("drop_off")

    @verb(QuoteIn, QuoteOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Quote:
        """Ask the customer by letter and link to agree up to an amount."""
        rows = DropOff.objects.select_related("customer__merged_into")
        return actions.put_quote(by=self.by, drop_off=get_object_or_404(rows, uid=uid), **data)


class WithdrawQuote(Door):
    @verb(Nothing, QuoteOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Quote:
        """Nobody agrees to an amount any more."""
        rows = Quote.objects.select_related("drop_off__customer__merged_into")
        return actions.withdraw_quote(by=self.by, quote=get_object_or_404(rows, uid=uid))


urlpatterns = [
    path("drop-offs/<uuid:uid>/quotes", Quotes.as_view(), name="quotes"),
    path("quotes/<uuid:uid>/withdraw", WithdrawQuote.as_view(), name="withdraw_quote"),
]
