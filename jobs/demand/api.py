"""The API's doors to the need ahead."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.demand.actions import draft_proposed
from jobs.demand.reads import Ahead, Outlook, one_ahead, outlook
from jobs.demand.shapes import LevelIn, OneAheadOut, OutlookOut
from shop.api.api import Door, reads, verb
from shop.orders.reads import Sheet, sheet
from shop.orders.shapes import OrderSheetOut
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.suppliers.models import Supplier


def level_of(request: Request) -> int:
    """The service level that is asked for."""
    shape = LevelIn(data=request.query_params)
    shape.is_valid(raise_exception=True)
    return int(shape.validated_data["level"])


class NeedAhead(Door):
    @reads(OutlookOut, filters=("level",))
    def get(self, request: Request) -> Outlook:
        """What the store will need and what to order, for level=90, 95 or 98 per cent; 95 where none is said."""
        require(self.by, Can.SEE)
        return outlook(level_of(request))


class PartAhead(Door):
    @reads(OneAheadOut, filters=("level",))
    def get(self, request: Request, uid: UUID) -> Ahead:
        """The need ahead of one part, with its weeks; 404 where nothing of it will be needed."""
        require(self.by, Can.SEE)
        return one_ahead(uid, level_of(request))[1]


class Proposed(Door):
    @verb(LevelIn, OrderSheetOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Sheet:
        """Put what is proposed of a supplier on their draft order; it is not sent."""
        return sheet(draft_proposed(by=self.by, supplier=get_object_or_404(Supplier, uid=uid), **data))


urlpatterns = [
    path("need-ahead", NeedAhead.as_view(), name="need_ahead"),
    path("parts/<uuid:uid>/need-ahead", PartAhead.as_view(), name="part_ahead"),
    path("suppliers/<uuid:uid>/proposed", Proposed.as_view(), name="draft_proposed"),
]
