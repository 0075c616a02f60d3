"""The API's doors to a job on the bench."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from jobs.advance import actions
from jobs.advance.reads import photographs_of
from jobs.advance.reads import rows as sheet_rows
from jobs.advance.shapes import JobPhotographIn, MoveOnIn, OnLegIn, ScanIn, SheetOut
from jobs.flow.actions import confirm_empty
from jobs.flow.models import Job
from jobs.flow.reads import job_subjects, jobs
from jobs.flow.shapes import JobOut, JobsOut, MoveIn
from jobs.tray.models import TrayPart
from jobs.tray.shapes import TrayPartOut
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.files.models import Photograph
from shop.gear.shapes import PhotographOut
from shop.journal.reads import history
from shop.staff.api import History
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import HistoryOut


class Jobs(Door):
    @reads(JobOut, many=True, filters=("leg",))
    def get(self, request: Request) -> Any:
        """Every job, or those on one `leg`, newest first."""
        require(self.by, Can.SEE)
        shape = OnLegIn(data=request.query_params)
        shape.is_valid(raise_exception=True)
        return jobs().filter(**shape.validated_data)


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


class Scans(Door):
    @verb(ScanIn, TrayPartOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> TrayPart:
        """Renew the part in the tray that waits for the lot whose label was scanned."""
        return actions.take_scanned(by=self.by, job=get_object_or_404(Job, uid=uid), **data)


class MoveOn(Door):
    @verb(MoveOnIn, JobsOut)
    def post(self, request: Request, data: Any) -> Any:
        """Move several jobs a leg on each, all of them or none."""
        return {"jobs": actions.move_on(by=self.by, **data)}


class JobHistory(History):
    @reads(HistoryOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Everything journalled about a job and its drop-off, newest first."""
        require(self.by, Can.SEE)
        return history(job_subjects(get_object_or_404(jobs(), uid=uid)))


class JobPhotographs(Door):
    parser_classes = [MultiPartParser]

    @reads(PhotographOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The photographs of a job, of its steps and of its gear as it came, newest first."""
        require(self.by, Can.SEE)
        return photographs_of(get_object_or_404(jobs(), uid=uid))

    @verb(JobPhotographIn, PhotographOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Photograph:
        """Keep a photograph of a job, or of one step of it."""
        return actions.photograph_job(by=self.by, job=get_object_or_404(Job, uid=uid), **data)


urlpatterns = [
    path("jobs", Jobs.as_view(), name="jobs"),
    path("jobs/<uuid:uid>", OneJob.as_view(), name="job"),
    path("jobs/<uuid:uid>/sheet", Sheet.as_view(), name="sheet"),
    path("jobs/move-on", MoveOn.as_view(), name="move_on"),
    path("jobs/<uuid:uid>/moves", Advance.as_view(), name="advance"),
    path("jobs/<uuid:uid>/scans", Scans.as_view(), name="scan_lot"),
    path("jobs/<uuid:uid>/empty", Empty.as_view(), name="empty"),
    path("jobs/<uuid:uid>/history", JobHistory.as_view(), name="job_history"),
    path("jobs/<uuid:uid>/photographs", JobPhotographs.as_view(), name="job_photographs"),
]
