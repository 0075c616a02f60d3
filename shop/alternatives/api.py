"""The API's doors to alternatives of a part."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.alternatives import actions
from shop.alternatives.models import Alternative
from shop.alternatives.reads import standing
from shop.alternatives.shapes import AlternativeEndIn, AlternativeIn, AlternativeOut
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Part


class Alternatives(Door):
    @reads(AlternativeOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """What may go in the place of a part, on which condition."""
        require(self.by, Can.SEE)
        return standing().filter(part=get_object_or_404(Part, uid=uid))

    @verb(AlternativeIn, AlternativeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Alternative:
        """Approve another part in its place."""
        return actions.approve(by=self.by, part=get_object_or_404(Part, uid=uid), **data)


class End(Door):
    @verb(AlternativeEndIn, AlternativeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Alternative:
        """End an alternative."""
        row = get_object_or_404(Alternative, uid=uid)
        return actions.end_alternative(by=self.by, alternative=row, **data)


urlpatterns = [
    path("parts/<uuid:uid>/alternatives", Alternatives.as_view(), name="alternatives"),
    path("alternatives/<uuid:uid>/end", End.as_view(), name="end_alternative"),
]
