"""The API's door to assign a job."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import Job
from jobs.flow.shapes import JobOut
from jobs.planning import actions
from jobs.planning.shapes import AssignIn
from shop.api.api import Door, verb


class Assign(Door):
    @verb(AssignIn, JobOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Job:
        """Give a job to a technician."""
        return actions.assign(by=self.by, job=get_object_or_404(Job, uid=uid), seen=seen, **data)


urlpatterns = [path("jobs/<uuid:uid>/assign", Assign.as_view(), name="assign")]
