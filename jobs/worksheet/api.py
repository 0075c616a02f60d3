"""The API's doors to the steps of a job and to the blank work sheet."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import Job
from jobs.worksheet.actions import do_step
from jobs.worksheet.reads import blank_sheet
from jobs.worksheet.shapes import StepIn, StepOut
from shop.api.api import Door, verb
from shop.paper.api import paper_door


class Steps(Door):
    @verb(StepIn, StepOut, creates=True)
    def post(self, request: Request, uid: UUID, key: str, data: Any) -> Any:
        """Call a step done, with its loose parts counted; or omitted, with a reason."""
        return do_step(by=self.by, job=get_object_or_404(Job, uid=uid), key=key, **data)


urlpatterns = [
    path("jobs/<uuid:uid>/steps/<slug:key>", Steps.as_view(), name="step"),
    path("jobs/<uuid:uid>/sheet.pdf", paper_door(blank_sheet), name="blank_sheet"),
]
