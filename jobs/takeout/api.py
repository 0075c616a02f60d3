"""Door to the whole workshop as one archive."""

from tempfile import TemporaryFile

from django.http import FileResponse
from django.http.response import HttpResponseBase
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request

from jobs.takeout.actions import take_out
from shop.api.api import Door, problems
from shop.api.shapes import Nothing
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.workshop.reads import today

ZIP = "application/zip"


def archive(by: Person) -> FileResponse:
    """Everything, sent from a file that nobody else sees and that is gone once it is sent."""
    file = TemporaryFile()  # noqa: SIM115 - the response closes it once it is sent
    take_out(by=by, file=file)
    file.seek(0)
    return FileResponse(file, as_attachment=True, filename=f"ebbwright-{today()}.zip", content_type=ZIP)


class Archives(Door):
    needs = Can.BRING_IN

    @extend_schema(
        summary="Take everything out into one archive.",
        description="It stands in the journal, so it is no GET. Asked twice, it is made anew.",
        request=Nothing,
        responses={(200, ZIP): OpenApiResponse(OpenApiTypes.BINARY, "The archive."), **problems()},
    )
    def post(self, request: Request) -> HttpResponseBase:
        Nothing(data=request.data).is_valid(raise_exception=True)
        return archive(self.by)


urlpatterns = [path("archives", Archives.as_view(), name="archives")]
