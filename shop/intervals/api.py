"""The API's doors to rules for intervals; what is decided about them is in `shop/clocks`."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.advice.shapes import TakenOut
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.intervals import actions
from shop.intervals.models import Interval
from shop.intervals.shapes import IntervalIn, IntervalOut
from shop.staff.reads import require
from shop.staff.rules import Can


class Intervals(Door):
    @reads(IntervalOut, many=True)
    def get(self, request: Request) -> Any:
        """Every rule, withdrawn ones too. A rule without a figure is one whose figure was not found."""
        require(self.by, Can.SEE)
        return Interval.objects.select_related("model", "replaces").order_by("pk")

    @verb(IntervalIn, IntervalOut, creates=True)
    def post(self, request: Request, data: Any) -> Interval:
        """Propose a rule; it counts once it is put in force."""
        return actions.propose(by=self.by, **data)


class OneInterval(Door):
    @reads(IntervalOut)
    def get(self, request: Request, uid: UUID) -> Interval:
        """One rule."""
        require(self.by, Can.SEE)
        return get_object_or_404(Interval, uid=uid)


class Replacement(Door):
    @verb(IntervalIn, IntervalOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Interval:
        """Propose a rule in the place of another, which stands until the new one is put in force."""
        return actions.propose(by=self.by, replaces=get_object_or_404(Interval, uid=uid), **data)


class SetAside(Door):
    @verb(Nothing, IntervalOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Interval:
        """Drop a rule that is only proposed."""
        return actions.set_aside(by=self.by, interval=get_object_or_404(Interval, uid=uid), seen=seen)


class ShippedIntervals(Door):
    @verb(Nothing, TakenOut)
    def post(self, request: Request, data: Any) -> Any:
        """Add the published rows that the table never had; at once again it adds none."""
        return {"added": actions.take_shipped(by=self.by)}


urlpatterns = [
    path("intervals", Intervals.as_view(), name="intervals"),
    path("intervals/shipped", ShippedIntervals.as_view(), name="shipped_intervals"),
    path("intervals/<uuid:uid>", OneInterval.as_view(), name="interval"),
    path("intervals/<uuid:uid>/replacement", Replacement.as_view(), name="replace_interval"),
    path("intervals/<uuid:uid>/set-aside", SetAside.as_view(), name="set_aside_interval"),
]
