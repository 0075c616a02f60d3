"""The API's door to whatever can be found."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads
from shop.search.reads import matching
from shop.search.shapes import FoundOut
from shop.staff.reads import require
from shop.staff.rules import Can


class Find(Door):
    @reads(FoundOut, many=True, filters=("q",))
    def get(self, request: Request) -> Any:
        """Whatever holds every word of `q` (its first 80 signs), newest first: names, telephones, numbers, serials, lots."""
        require(self.by, Can.SEE)
        return matching(request.query_params.get("q", ""))


urlpatterns = [path("find", Find.as_view(), name="find")]
