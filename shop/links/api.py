"""The API's door to private links."""

from typing import Any
from uuid import UUID

from django.db.models import Q
from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.customers.models import Customer
from shop.links import actions
from shop.links.models import Link
from shop.links.shapes import EndedOut, LinkOut
from shop.staff.reads import require
from shop.staff.rules import Can


class Links(Door):
    @reads(LinkOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The private links of a customer, newest first; their addresses stand in the letters alone."""
        require(self.by, Can.SEE)
        row = get_object_or_404(Customer, uid=uid)
        return Link.objects.filter(Q(customer=row) | Q(customer__merged_into=row))


class RevokeLinks(Door):
    @verb(Nothing, EndedOut)
    def post(self, request: Request, uid: UUID, data: Any) -> int:
        """End every open private link of a customer."""
        return actions.revoke_links(by=self.by, customer=get_object_or_404(Customer, uid=uid))


urlpatterns = [
    path("customers/<uuid:uid>/links", Links.as_view(), name="links"),
    path("customers/<uuid:uid>/links/revoke", RevokeLinks.as_view(), name="revoke_links"),
]
