"""The API's doors to clocks, counts, and what is decided about rules."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.clocks import actions
from shop.clocks.models import Clock, Tally
from shop.clocks.reads import Moves, moves, with_elsewhere
from shop.clocks.shapes import (
    ClockOut,
    ClocksIn,
    DecisionIn,
    ElsewhereIn,
    MovesOut,
    TallyIn,
    TallyOut,
    WouldMoveIn,
)
from shop.gear.models import Item
from shop.intervals.models import Interval
from shop.intervals.shapes import IntervalOut
from shop.staff.reads import require
from shop.staff.rules import Can


def clocks() -> Any:
    """Clocks with what their shape shows."""
    return with_elsewhere(Clock.objects.select_related("item", "interval"))


class Clocks(Door):
    @reads(ClockOut, many=True, filters=("item",))
    def get(self, request: Request) -> Any:
        """Every clock of every item that was not merged into another, or of the `item` with a uid."""
        require(self.by, Can.SEE)
        shape = ClocksIn(data=request.query_params)
        shape.is_valid(raise_exception=True)
        rows = clocks().filter(item__merged_into=None)
        item = shape.validated_data["item"]
        return rows.filter(item__uid=item) if item else rows


class Elsewhere(Door):
    parser_classes = [MultiPartParser]

    @verb(ElsewhereIn, ClockOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """Others did what a clock asks for; a photograph or a PDF of their proof is kept."""
        row = actions.done_elsewhere(by=self.by, clock=get_object_or_404(Clock, uid=uid), **data)
        return clocks().get(pk=row.pk)


class TakeBackElsewhere(Door):
    @verb(Nothing, ClockOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """The newest entry of what others did was wrong."""
        row = actions.take_back_elsewhere(by=self.by, clock=get_object_or_404(Clock, uid=uid))
        return clocks().get(pk=row.pk)


class Tallies(Door):
    @reads(TallyOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Counts of dives and hours of an item; of one day the newest counts."""
        require(self.by, Can.SEE)
        return Tally.objects.filter(item__uid=get_object_or_404(Item, uid=uid).uid).select_related("item")

    @verb(TallyIn, TallyOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Tally:
        """Write down how many dives or hours an item has made in all by a day."""
        return actions.tally(by=self.by, item=get_object_or_404(Item, uid=uid), **data)


class Decisions(Door):
    @verb(DecisionIn, IntervalOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Interval:
        """Put a rule in force or withdraw it, follow its place or no more; the dates move with it."""
        row = get_object_or_404(Interval, uid=uid)
        return actions.decide(by=self.by, interval=row, what=data["decision"], seen=seen)


class WouldMove(Door):
    @reads(MovesOut, filters=("decision",))
    def get(self, request: Request, uid: UUID) -> Moves:
        """Which dates a `decision` about a rule would move; nothing is changed."""
        require(self.by, Can.SEE)
        shape = WouldMoveIn(data=request.query_params)
        shape.is_valid(raise_exception=True)
        return moves(get_object_or_404(Interval, uid=uid), shape.validated_data["decision"])


urlpatterns = [
    path("clocks", Clocks.as_view(), name="clocks"),
    path("clocks/<uuid:uid>/elsewhere", Elsewhere.as_view(), name="elsewhere"),
    path("clocks/<uuid:uid>/elsewhere/take-back", TakeBackElsewhere.as_view(), name="take_back_elsewhere"),
    path("items/<uuid:uid>/tallies", Tallies.as_view(), name="tallies"),
    path("intervals/<uuid:uid>/decisions", Decisions.as_view(), name="decide_interval"),
    path("intervals/<uuid:uid>/would-move", WouldMove.as_view(), name="would_move"),
]
