"""The API's door to the oxygen threshold."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.gases import actions
from shop.gases.reads import setting
from shop.gases.rules import Setting
from shop.gases.shapes import ThresholdIn, ThresholdOut
from shop.staff.reads import require
from shop.staff.rules import Can


class Threshold(Door):
    @reads(ThresholdOut)
    def get(self, request: Request) -> Any:
        """Above which share of oxygen gas counts as enriched here."""
        require(self.by, Can.SEE)
        return setting()

    @verb(ThresholdIn, ThresholdOut, seen=True)
    def post(self, request: Request, data: Any, seen: int) -> Setting:
        """Set that share."""
        return actions.set_threshold(by=self.by, seen=seen, **data)


urlpatterns = [path("oxygen-threshold", Threshold.as_view(), name="oxygen_threshold")]
