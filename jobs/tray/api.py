"""The API's door to the loose parts of a job."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import Job
from jobs.tray.actions import end_part
from jobs.tray.shapes import EndingIn, TrayPartOut
from shop.api.api import Door, verb


class Parts(Door):
    @verb(EndingIn, TrayPartOut, creates=True)
    def post(self, request: Request, uid: UUID, key: str, data: Any) -> Any:
        """Account for a loose part."""
        return end_part(by=self.by, job=get_object_or_404(Job, uid=uid), key=key, **data)


urlpatterns = [path("jobs/<uuid:uid>/parts/<slug:key>", Parts.as_view(), name="tray_part")]
