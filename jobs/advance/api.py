"""The API's doors to a job on the bench."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.advance import actions
from jobs.advance.reads import rows as sheet_rows
from jobs.advance.shapes import MoveOnIn, SheetOut
from jobs.flow.actions import confirm_empty
from jobs.flow.models import Job
from jobs.flow.reads import jobs
from jobs.flow.shapes import JobOut, JobsOut, MoveIn
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.staff.reads import require
from shop.staff.rules import Can


class Jobs(Door):
    @reads(JobOut, many=True)
    def get(self, request: Request) -> Any:
        """Every job, newest first."""
        require(self.by, Can.SEE)
        return jobs()


class OneJob(Door):
    @reads(JobOut)
    def get(self, request: Request, uid: UUID) -> Job:
        """One job."""
        require(self.by, Can.SEE)
        return get_object_or_404(jobs(), uid=uid)


class Sheet(Door):
    @reads(SheetOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """The work sheet of a job: what is done and what is open."""
        require(self.by, Can.SEE)
        return sheet_rows(get_object_or_404(jobs(), uid=uid))


class Advance(Door):
    @verb(MoveIn, JobOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Job:
        """Move a job one leg on, or back with a reason."""
        return actions.advance(by=self.by, job=get_object_or_404(Job, uid=uid), seen=seen, **data)


class Empty(Door):
    @verb(Nothing, JobOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Job:
        """Confirm by name that gear which came under pressure is empty."""
        return confirm_empty(by=self.by, job=get_object_or_404(Job, uid=uid))


class MoveOn(Door):
    @verb(MoveOnIn, JobsOut)
    def post(self, request: Request, data: Any) -> Any:
        """Move several jobs a leg on each, all of them or none."""
        return {"jobs": actions.move_on(by=self.by, **data)}


urlpatterns = [
    path("jobs", Jobs.as_view(), name="jobs"),
    path("jobs/<uuid:uid>", OneJob.as_view(), name="job"),
    path("jobs/<uuid:uid>/sheet", Sheet.as_view(), name="sheet"),
    path("jobs/move-on", MoveOn.as_view(), name="move_on"),
    path("jobs/<uuid:uid>/moves", Advance.as_view(), name="advance"),
    path("jobs/<uuid:uid>/empty", Empty.as_view(), name="empty"),
]
