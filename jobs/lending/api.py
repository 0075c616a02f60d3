"""The API's doors to loans."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.lending import actions
from jobs.lending.models import Loan
from jobs.lending.reads import loans, out
from jobs.lending.shapes import BringBackIn, LendIn, LoanOut
from shop.api.api import Door, reads, verb
from shop.gear.models import Item
from shop.staff.reads import require
from shop.staff.rules import Can


class Out(Door):
    @reads(LoanOut, many=True)
    def get(self, request: Request) -> Any:
        """What is lent and expected back; late is what should have been back `until` a day that has passed."""
        require(self.by, Can.SEE)
        return out()


class ItemLoans(Door):
    @reads(LoanOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Every loan of an item; the one that is out has no `back_on`."""
        require(self.by, Can.SEE)
        return loans().filter(item=get_object_or_404(Item, uid=uid))

    @verb(LendIn, LoanOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Loan:
        """Lend an item of ours from today until a day."""
        return actions.lend(by=self.by, item=get_object_or_404(Item, uid=uid), **data)


class BringBack(Door):
    @verb(BringBackIn, LoanOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Loan:
        """A lent item is here again."""
        return actions.bring_back(by=self.by, loan=get_object_or_404(loans(), uid=uid), **data)


urlpatterns = [
    path("loans", Out.as_view(), name="loans"),
    path("items/<uuid:uid>/loans", ItemLoans.as_view(), name="item_loans"),
    path("loans/<uuid:uid>/bring-back", BringBack.as_view(), name="bring_back"),
]
