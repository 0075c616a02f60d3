"""The API's doors to assign jobs and to promise a day."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import DropOff, Job
from jobs.flow.shapes import JobOut, JobsOut
from jobs.planning import actions
from jobs.planning.shapes import AssignIn, GiveAllIn, HandOnIn, PromiseIn
from shop.api.api import Door, verb
from shop.staff.models import Person


class Assign(Door):
    @verb(AssignIn, JobOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Job:
        """Give a job to a technician."""
        return actions.assign(by=self.by, job=get_object_or_404(Job, uid=uid), seen=seen, **data)


class GiveAll(Door):
    @verb(GiveAllIn, JobsOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """Give every job of a drop-off that nobody has yet to a technician."""
        return {"jobs": actions.give_all(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)}


class Promise(Door):
    @verb(PromiseIn, JobOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Job:
        """Promise a job for another day."""
        return actions.promise(by=self.by, job=get_object_or_404(Job, uid=uid), seen=seen, **data)


class HandOn(Door):
    @verb(HandOnIn, JobsOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """Give every open job of somebody who leaves to somebody else."""
        leaving = get_object_or_404(Person, uid=uid)
        return {"jobs": actions.hand_on_all(by=self.by, leaving=leaving, **data)}


urlpatterns = [
    path("jobs/<uuid:uid>/assign", Assign.as_view(), name="assign"),
    path("drop-offs/<uuid:uid>/assign", GiveAll.as_view(), name="give_all"),
    path("jobs/<uuid:uid>/promise", Promise.as_view(), name="promise"),
    path("people/<uuid:uid>/hand-on", HandOn.as_view(), name="hand_on"),
]
