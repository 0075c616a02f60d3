"""The API's doors to levels at sites."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.sites import actions
from shop.sites.reads import at_sites, lacking
from shop.sites.shapes import AtSitesOut, LackingList, SiteLevelIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Part
from shop.workshop.reads import today


def _seen(uid: UUID) -> dict[str, Any]:
    part = get_object_or_404(Part, uid=uid)
    return {"part": part, "sites": at_sites([part], today())[part.pk]}


class PartAtSites(Door):
    @reads(AtSitesOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """How many of a part may be used at each site, and at which level it is watched there."""
        require(self.by, Can.SEE)
        return _seen(uid)

    @verb(SiteLevelIn, AtSitesOut, seen=True)
    def put(self, request: Request, uid: UUID, data: Any, seen: int) -> Any:
        """Watch a part at a site, or no longer."""
        actions.watch(by=self.by, part=get_object_or_404(Part, uid=uid), seen=seen, **data)
        return _seen(uid)


class ToBring(Door):
    @reads(LackingList)
    def get(self, request: Request) -> Any:
        """What each site lacks: from which other site it comes, and what no site can give."""
        require(self.by, Can.SEE)
        return {"day": today(), "parts": lacking(today())}


urlpatterns = [
    path("parts/to-bring", ToBring.as_view(), name="to_bring"),
    path("parts/<uuid:uid>/sites", PartAtSites.as_view(), name="part_at_sites"),
]
