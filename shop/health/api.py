"""The API's door for a machine that watches."""

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request

from shop.api.api import Door, problems
from shop.health.reads import figures
from shop.health.rules import exposition
from shop.staff.reads import require
from shop.staff.rules import Can

PLAIN = "text/plain; version=0.0.4; charset=utf-8"


class Metrics(Door):
    @extend_schema(
        summary="Figures for a machine that watches; make it a token that may only see.",
        responses={
            (200, PLAIN): OpenApiResponse(OpenApiTypes.STR, "The Prometheus text exposition format 0.0.4."),
            **problems(),
        },
    )
    def get(self, request: Request) -> HttpResponse:
        """Answer in text, whatever else is asked for."""
        require(self.by, Can.SEE)
        return HttpResponse(exposition(figures()), content_type=PLAIN)


urlpatterns = [path("metrics", Metrics.as_view(), name="metrics")]
