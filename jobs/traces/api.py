"""The API's door to the trace of an attempt, as the numbers that were judged."""

from uuid import UUID

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from jobs.bench.reads import stored_trace
from jobs.traces.reads import traced
from shop.api.api import CSV, CsvRenderer, Door, problems
from shop.files.reads import attached
from shop.staff.reads import require
from shop.staff.rules import Can


def trace_file(uid: UUID) -> HttpResponse:
    """The trace as a CSV file to keep; its heading names the columns with their units."""
    row = traced(uid)
    name = f"tray-{row.round.job.number}-{row.key}-{row.pk}.csv"
    return attached(stored_trace(row).encode(), CSV, name)


class TraceDoor(Door):
    renderer_classes = [CsvRenderer, JSONRenderer]

    @extend_schema(
        operation_id="attempt_trace",
        summary="The trace of an attempt as CSV, with the numbers that were judged.",
        parameters=[OpenApiParameter("format", exclude=True)],  # Accept says it
        responses={(200, CSV): OpenApiResponse(OpenApiTypes.STR, "The trace."), **problems()},
    )
    def get(self, request: Request, uid: UUID) -> HttpResponse:
        require(self.by, Can.SEE)
        return trace_file(uid)


urlpatterns = [path("attempts/<uuid:uid>/trace", TraceDoor.as_view(), name="trace")]
