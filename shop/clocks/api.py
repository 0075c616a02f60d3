"""The API's door to clocks."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads
from shop.clocks.models import Clock
from shop.clocks.shapes import ClockOut, ClocksIn
from shop.staff.reads import require
from shop.staff.rules import Can


class Clocks(Door):
    @reads(ClockOut, many=True, filters=("item",))
    def get(self, request: Request) -> Any:
        """Every clock of every item that was not merged into another, or of the `item` with a uid."""
        require(self.by, Can.SEE)
        shape = ClocksIn(data=request.query_params)
        shape.is_valid(raise_exception=True)
        rows = Clock.objects.filter(item__merged_into=None).select_related("item")
        item = shape.validated_data["item"]
        return rows.filter(item__uid=item) if item else rows


urlpatterns = [path("clocks", Clocks.as_view(), name="clocks")]
