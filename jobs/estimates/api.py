"""The API's door to go-aheads."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.estimates import actions
from jobs.estimates.models import GoAhead
from jobs.estimates.shapes import GoAheadIn, GoAheadOut
from jobs.flow.models import DropOff
from shop.api.api import Door, verb


class GoAheads(Door):
    @verb(GoAheadIn, GoAheadOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> GoAhead:
        """Take a go-ahead for a drop-off."""
        return actions.take_go_ahead(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)


urlpatterns = [path("drop-offs/<uuid:uid>/go-aheads", GoAheads.as_view(), name="go_aheads")]
