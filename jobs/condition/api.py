"""The API's doors to condition lists."""

from typing import Any
from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.condition import actions
from jobs.condition.models import ConditionList
from jobs.condition.reads import lists, looks, newest, shipped
from jobs.condition.shapes import (
    ConditionListIn,
    ConditionListOut,
    ConditionListsOut,
    ConditionLookIn,
    ConditionLookOut,
    ConditionLooksOut,
)
from jobs.flow.models import DropOff
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can


def known(kind: str) -> str:
    """A kind of gear out of an address."""
    if kind not in shipped():
        raise Http404
    return kind


class ConditionLists(Door):
    @reads(ConditionListsOut)
    def get(self, request: Request) -> Any:
        """What is looked at on each kind of gear when it is taken in; version 0 comes with the house."""
        require(self.by, Can.SEE)
        return {"lists": list(lists().values())}


class OneConditionList(Door):
    @reads(ConditionListOut)
    def get(self, request: Request, kind: str) -> ConditionList:
        """What is looked at on one kind of gear."""
        require(self.by, Can.SEE)
        return newest(known(kind))

    @verb(ConditionListIn, ConditionListOut, seen=True)
    def put(self, request: Request, kind: str, data: Any, seen: int) -> ConditionList:
        """Write what is looked at from now on."""
        return actions.write_list(by=self.by, kind=known(kind), seen=seen, **data)


class Looks(Door):
    @reads(ConditionLookOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """What was seen of the pieces of a drop-off, look by look."""
        require(self.by, Can.SEE)
        return looks().filter(line__drop_off=get_object_or_404(DropOff, uid=uid)).order_by()

    @verb(ConditionLookIn, ConditionLooksOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """Keep what was seen of pieces of a drop-off; how they came, not a verdict."""
        made = actions.look(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)
        return {"looks": looks().filter(pk__in=[row.pk for row in made])}


urlpatterns = [
    path("all-condition-lists", ConditionLists.as_view(), name="condition_lists"),
    path("condition-lists/<slug:kind>", OneConditionList.as_view(), name="condition_list"),
    path("drop-offs/<uuid:uid>/looks", Looks.as_view(), name="look_at"),
]
