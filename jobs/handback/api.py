"""The API's doors to hand-backs, to asking for collection and to disposal."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import DropOff, Job
from jobs.handback import actions
from jobs.handback.models import Asked, Disposal, HandBack
from jobs.handback.reads import slip
from jobs.handback.shapes import AskedOut, AskIn, DisposalOut, DisposeIn, HandBackIn, HandBackOut
from shop.api.api import Door, verb
from shop.paper.api import paper_door


class HandBacks(Door):
    @verb(HandBackIn, HandBackOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> HandBack:
        """Hand items of a drop-off back."""
        return actions.hand_back(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), seen=seen, **data)


class AskedDoor(Door):
    @verb(AskIn, AskedOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Asked:
        """Ask the customer to collect, or record that they were asked."""
        return actions.ask_to_collect(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)


class Dispose(Door):
    @verb(DisposeIn, DisposalOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Disposal:
        """Dispose of an item that nobody collected."""
        return actions.dispose(by=self.by, job=get_object_or_404(Job, uid=uid), seen=seen, **data)


urlpatterns = [
    path("drop-offs/<uuid:uid>/hand-backs", HandBacks.as_view(), name="hand_backs"),
    path("drop-offs/<uuid:uid>/asked", AskedDoor.as_view(), name="ask"),
    path("jobs/<uuid:uid>/dispose", Dispose.as_view(), name="dispose"),
    path("hand-backs/<uuid:uid>/slip.pdf", paper_door(slip), name="hand_back_slip"),
]
