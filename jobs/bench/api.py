"""The API's door to the tests of a job."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from jobs.bench.actions import record_test
from jobs.bench.models import Attempt
from jobs.bench.shapes import AttemptOut, TestIn, measured
from jobs.flow.models import Job
from shop.api.api import Door, verb
from shop.api.shapes import StrictJSON


class Tests(Door):
    parser_classes = [StrictJSON, MultiPartParser]

    @verb(TestIn, AttemptOut, creates=True)
    def post(self, request: Request, uid: UUID, key: str, data: Any) -> Attempt:
        """Record a typed reading, a finding or a logger's trace; the answer holds the verdict."""
        return record_test(by=self.by, job=get_object_or_404(Job, uid=uid), key=key, **measured(data))


urlpatterns = [path("jobs/<uuid:uid>/tests/<slug:key>", Tests.as_view(), name="test")]
