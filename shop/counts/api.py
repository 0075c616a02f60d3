"""The API's doors to counts of bins."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.counts import actions
from shop.counts.models import Count
from shop.counts.shapes import CountCloseIn, CountOut, CountSheetOut, NumberIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Bin


def one(uid: UUID) -> Count:
    """A count with its bin."""
    return get_object_or_404(Count.objects.select_related("bin"), uid=uid)


class Counts(Door):
    @reads(CountOut, many=True)
    def get(self, request: Request) -> Any:
        """Counts of bins, newest first."""
        require(self.by, Can.SEE)
        return Count.objects.select_related("bin")


class Begin(Door):
    @verb(Nothing, CountSheetOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Count:
        """Begin to count a bin, or join the count that is open."""
        return actions.begin_count(by=self.by, bin=get_object_or_404(Bin, uid=uid))


class OneCount(Door):
    @reads(CountSheetOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """The sheet of a count: which lots lie there, not how many."""
        require(self.by, Can.SEE)
        return one(uid)


class Numbers(Door):
    @verb(NumberIn, CountSheetOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Count:
        """Enter how many of a lot lie in the bin."""
        return actions.enter(by=self.by, count=one(uid), **data).count


class Book(Door):
    @verb(CountCloseIn, CountSheetOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Count:
        """Book what differs."""
        return actions.book(by=self.by, count=one(uid), **data)


class SetAside(Door):
    @verb(CountCloseIn, CountSheetOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Count:
        """Close a count without booking anything."""
        return actions.set_aside(by=self.by, count=one(uid), **data)


urlpatterns = [
    path("counts", Counts.as_view(), name="counts"),
    path("bins/<uuid:uid>/counts", Begin.as_view(), name="begin_count"),
    path("counts/<uuid:uid>", OneCount.as_view(), name="count"),
    path("counts/<uuid:uid>/numbers", Numbers.as_view(), name="count_lot"),
    path("counts/<uuid:uid>/book", Book.as_view(), name="book_count"),
    path("counts/<uuid:uid>/set-aside", SetAside.as_view(), name="set_count_aside"),
]
