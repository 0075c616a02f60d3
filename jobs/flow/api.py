"""The API's doors to holds, custody, contents and further plans."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow import actions
from jobs.flow.models import Custody, Hold, Job, Line
from jobs.flow.shapes import (
    ContentsIn,
    CustodyIn,
    CustodyOut,
    HoldIn,
    HoldOut,
    JobOut,
    LiftIn,
    MorePlanIn,
)
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can


class Holds(Door):
    @reads(HoldOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Every hold that a job ever had."""
        require(self.by, Can.SEE)
        job = get_object_or_404(Job, uid=uid)
        return Hold.objects.filter(job=job).select_related("job", "item")

    @verb(HoldIn, HoldOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Hold:
        """Hold a job."""
        return actions.hold(by=self.by, job=get_object_or_404(Job, uid=uid), **data)


class Lift(Door):
    @verb(LiftIn, HoldOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Hold:
        """Lift a hold."""
        return actions.lift(by=self.by, hold=get_object_or_404(Hold, uid=uid), **data)


class CustodyRows(Door):
    @reads(CustodyOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Where a line's gear has been."""
        require(self.by, Can.SEE)
        return Custody.objects.filter(line__uid=uid).select_related("line", "corrects")

    @verb(CustodyIn, CustodyOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Custody:
        """Pass a line's gear on, or correct where it really is."""
        line = get_object_or_404(Line.objects.select_related("drop_off"), uid=uid)
        return actions.pass_on(by=self.by, line=line, **data)


class Contents(Door):
    @verb(ContentsIn, JobOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Job:
        """Note what is inside gear that nobody had looked at."""
        return actions.note_contents(by=self.by, job=get_object_or_404(Job, uid=uid), **data)


class Plans(Door):
    @verb(MorePlanIn, JobOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Job:
        """Put one more plan on an open job."""
        return actions.add_plan(by=self.by, job=get_object_or_404(Job, uid=uid), seen=seen, **data)


urlpatterns = [
    path("jobs/<uuid:uid>/holds", Holds.as_view(), name="holds"),
    path("holds/<uuid:uid>/lift", Lift.as_view(), name="lift"),
    path("lines/<uuid:uid>/custody", CustodyRows.as_view(), name="custody"),
    path("jobs/<uuid:uid>/contents", Contents.as_view(), name="contents"),
    path("jobs/<uuid:uid>/plans", Plans.as_view(), name="job_plans"),
]
