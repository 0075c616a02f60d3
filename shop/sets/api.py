"""The API's doors to sets of gear."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.customers.models import Customer
from shop.gear.models import GearSet
from shop.sets import actions
from shop.sets.reads import sets
from shop.sets.shapes import SetIn, SetItemIn, SetOut
from shop.staff.reads import require
from shop.staff.rules import Can


class Sets(Door):
    @reads(SetOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """A customer's sets."""
        require(self.by, Can.SEE)
        return sets().filter(owner__uid=uid)

    @verb(SetIn, SetOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> GearSet:
        """Make a set of a customer's items."""
        return actions.make_set(by=self.by, owner=get_object_or_404(Customer, uid=uid), **data)


class OneSet(Door):
    @reads(SetOut)
    def get(self, request: Request, uid: UUID) -> GearSet:
        """One set."""
        require(self.by, Can.SEE)
        return get_object_or_404(sets(), uid=uid)


class PutIn(Door):
    @verb(SetItemIn, SetOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> GearSet:
        """Put one more item into a set."""
        return actions.put_in(by=self.by, gear_set=get_object_or_404(GearSet, uid=uid), seen=seen, **data)


class TakeOut(Door):
    @verb(SetItemIn, SetOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> GearSet:
        """Take an item out of its set."""
        return actions.take_out(by=self.by, gear_set=get_object_or_404(GearSet, uid=uid), seen=seen, **data)


urlpatterns = [
    path("customers/<uuid:uid>/sets", Sets.as_view(), name="sets"),
    path("sets/<uuid:uid>", OneSet.as_view(), name="set"),
    path("sets/<uuid:uid>/put-in", PutIn.as_view(), name="put_in"),
    path("sets/<uuid:uid>/take-out", TakeOut.as_view(), name="take_out"),
]
