"""The API's door for a machine that watches."""

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request

from shop.api.api import PROBLEM, TITLES, Door
from shop.api.shapes import Problem
from shop.health.reads import figures
from shop.health.rules import exposition
from shop.staff.reads import require
from shop.staff.rules import Can

PLAIN = "text/plain"


class Metrics(Door):
    @extend_schema(
        responses={
            (200, PLAIN): OpenApiResponse(OpenApiTypes.STR, "The Prometheus text exposition format 0.0.4."),
            **{(code, PROBLEM): OpenApiResponse(Problem, TITLES[code][1]) for code in (400, 401, 403)},
        }
    )
    def get(self, request: Request) -> HttpResponse:
        """Figures for a machine that watches; make it a token that may only see."""
        require(self.by, Can.SEE)
        return HttpResponse(exposition(figures()), content_type=f"{PLAIN}; version=0.0.4; charset=utf-8")


urlpatterns = [path("metrics", Metrics.as_view(), name="metrics")]
