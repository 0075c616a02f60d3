"""The API's doors to papers about money and to the books."""

from datetime import date

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from jobs.books.reads import bill_paper, books, estimate_paper
from jobs.books.shapes import PeriodIn
from shop.api.api import CSV, CsvRenderer, Door, problems
from shop.files.reads import attached
from shop.paper.api import paper_door
from shop.staff.reads import require
from shop.staff.rules import Can


def books_file(first: date, last: date) -> HttpResponse:
    """The books of a period as a file to keep."""
    return attached(books(first, last).encode(), CSV, f"books-{first.isoformat()}-{last.isoformat()}.csv")


class Books(Door):
    renderer_classes = [CsvRenderer, JSONRenderer]

    @extend_schema(
        operation_id="books",
        summary="Bills and payments of a period as CSV, a row for each rate of a bill.",
        parameters=[
            OpenApiParameter("format", exclude=True),
            OpenApiParameter("first", OpenApiTypes.DATE),
            OpenApiParameter("last", OpenApiTypes.DATE),
        ],
        responses={(200, CSV): OpenApiResponse(OpenApiTypes.STR, "The books."), **problems()},
    )
    def get(self, request: Request) -> HttpResponse:
        require(self.by, Can.SEE)
        shape = PeriodIn(data=request.query_params.dict())
        shape.is_valid(raise_exception=True)
        return books_file(**shape.validated_data)


urlpatterns = [
    path("drop-offs/<uuid:uid>/estimate.pdf", paper_door(estimate_paper), name="estimate_paper"),
    path("bills/<uuid:uid>/bill.pdf", paper_door(bill_paper), name="bill_paper"),
    path("books", Books.as_view(), name="books"),
]
