"""Plumbing of the doors that answer with a paper: each made by `paper_door`."""

from collections.abc import Callable
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from shop.api.api import Door, FileRenderer, problems
from shop.paper.reads import drawn
from shop.paper.rules import Paper, Tags
from shop.workshop.reads import now, workshop, zone

PDF = "application/pdf"


def printed(paper: Paper | Tags) -> HttpResponse:
    """A paper as an answer, to be looked at in the browser first."""
    row = workshop()
    content = drawn(paper, house=row.name if row else "", zone=zone(), instant=now())
    shown = f'inline; filename="{paper.name}.pdf"'
    return HttpResponse(content, content_type=PDF, headers={"Content-Disposition": shown})


class PdfRenderer(FileRenderer):
    media_type, format = PDF, "pdf"


def paper_door(read: Callable[[UUID], Paper | Tags]) -> Callable[..., HttpResponseBase]:
    """One address of the API: whoever may see gets the paper that `read` makes of a row."""

    class PaperDoor(Door):
        renderer_classes = [PdfRenderer, JSONRenderer]

        @extend_schema(
            operation_id=read.__name__,
            summary=read.__doc__,
            parameters=[OpenApiParameter("format", exclude=True)],  # Accept says it
            responses={(200, PDF): OpenApiResponse(OpenApiTypes.BINARY, "The paper."), **problems()},
        )
        def get(self, request: Request, uid: UUID) -> HttpResponse:
            if not self.by.may("see"):  # the table of rights is in a higher room
                raise PermissionDenied("You do not have the right to see.")
            return printed(read(uid))

    return PaperDoor.as_view()
