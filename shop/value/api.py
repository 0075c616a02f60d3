"""The API's door to what the store's lots cost, as a file."""

from datetime import date

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from shop.api.api import CSV, CsvRenderer, Door, problems
from shop.files.reads import attached
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.value.reads import stock_file
from shop.value.shapes import DayIn


def file_of(day: date) -> HttpResponse:
    """The list of a day as a CSV file to keep."""
    return attached(stock_file(day).encode(), CSV, f"store-{day.isoformat()}.csv")


class StockValue(Door):
    renderer_classes = [CsvRenderer, JSONRenderer]

    @extend_schema(
        operation_id="stock_value",
        summary="Every lot that was on hand on a day and what it cost, as CSV.",
        parameters=[OpenApiParameter("format", exclude=True), OpenApiParameter("on", OpenApiTypes.DATE)],
        responses={(200, CSV): OpenApiResponse(OpenApiTypes.STR, "The list."), **problems()},
    )
    def get(self, request: Request) -> HttpResponse:
        require(self.by, Can.SEE)
        shape = DayIn(data=request.query_params.dict())
        shape.is_valid(raise_exception=True)
        return file_of(shape.validated_data["on"])


urlpatterns = [path("stock-value", StockValue.as_view(), name="stock_value")]
