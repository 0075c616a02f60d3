"""The API's doors to terms."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import DropOff
from jobs.terms import actions
from jobs.terms.models import Accepted, Terms
from jobs.terms.reads import newest
from jobs.terms.shapes import AcceptedOut, AcceptIn, OwnTermsIn, OwnTermsOut
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can


class WorkshopTerms(Door):
    @reads(OwnTermsOut)
    def get(self, request: Request) -> Terms:
        """The workshop's terms; empty where it asks for none."""
        require(self.by, Can.SEE)
        return newest() or Terms()

    @verb(OwnTermsIn, OwnTermsOut, seen=True)
    def put(self, request: Request, data: Any, seen: int) -> Terms:
        """Write the terms from now on."""
        return actions.write_terms(by=self.by, seen=seen, **data)


class AcceptTerms(Door):
    @reads(AcceptedOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Which terms were accepted for a drop-off, by whom and how."""
        require(self.by, Can.SEE)
        return get_object_or_404(DropOff, uid=uid).accepted.select_related("terms", "drop_off")

    @verb(AcceptIn, AcceptedOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Accepted:
        """Write down that somebody accepted the terms."""
        return actions.accept_terms(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)


urlpatterns = [
    path("terms", WorkshopTerms.as_view(), name="terms"),
    path("drop-offs/<uuid:uid>/terms", AcceptTerms.as_view(), name="accept_terms"),
]
