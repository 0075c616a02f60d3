"""The API's door to the loose parts of a job."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import Job
from jobs.tray.actions import end_part
from jobs.tray.reads import fitted_from, fitted_to
from jobs.tray.shapes import EndingIn, FittedOut, LotTraceOut, TrayPartOut
from shop.api.api import Door, reads, verb
from shop.gear.models import Item
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Lot


class Parts(Door):
    needs = Can.WORK

    @verb(EndingIn, TrayPartOut, creates=True)
    def post(self, request: Request, uid: UUID, key: str, data: Any) -> Any:
        """Account for a loose part."""
        return end_part(by=self.by, job=get_object_or_404(Job, uid=uid), key=key, **data)


class LotTrace(Door):
    @reads(LotTraceOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """What is left of a lot, and every job, item and owner that its pieces went to, kits included."""
        require(self.by, Can.SEE)
        lot = get_object_or_404(Lot.objects.select_related("part"), uid=uid)
        return {"lot": lot, "fitted": fitted_from(lot)}


class ItemLots(Door):
    @reads(FittedOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Every lot ever fitted to an item."""
        require(self.by, Can.SEE)
        return fitted_to(get_object_or_404(Item, uid=uid).kept)


urlpatterns = [
    path("jobs/<uuid:uid>/parts/<slug:key>", Parts.as_view(), name="tray_part"),
    path("lots/<uuid:uid>/trace", LotTrace.as_view(), name="lot_trace"),
    path("items/<uuid:uid>/lots", ItemLots.as_view(), name="item_lots"),
]
