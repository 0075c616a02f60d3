"""The API's door to clocks."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads
from shop.clocks.models import Clock
from shop.clocks.shapes import ClockOut
from shop.staff.reads import require
from shop.staff.rules import Can


class Clocks(Door):
    @reads(ClockOut, many=True)
    def get(self, request: Request) -> Any:
        """Every clock of every item that was not merged into another."""
        require(self.by, Can.SEE)
        return Clock.objects.filter(item__merged_into=None).select_related("item")


urlpatterns = [path("clocks", Clocks.as_view(), name="clocks")]
