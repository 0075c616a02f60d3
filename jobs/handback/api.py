"""The API's door to hand-backs."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import DropOff
from jobs.handback import actions
from jobs.handback.models import HandBack
from jobs.handback.reads import slip
from jobs.handback.shapes import HandBackIn, HandBackOut
from shop.api.api import Door, verb
from shop.paper.api import paper_door


class HandBacks(Door):
    @verb(HandBackIn, HandBackOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> HandBack:
        """Hand items of a drop-off back."""
        return actions.hand_back(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), seen=seen, **data)


urlpatterns = [
    path("drop-offs/<uuid:uid>/hand-backs", HandBacks.as_view(), name="hand_backs"),
    path("hand-backs/<uuid:uid>/slip.pdf", paper_door(slip), name="hand_back_slip"),
]
