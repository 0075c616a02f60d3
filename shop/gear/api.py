"""The API's doors to items."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request

from shop.api.api import JSON, Door, reads, sends, verb
from shop.customers.models import Customer
from shop.customers.shapes import CustomerOut
from shop.files.models import Photograph, Spot
from shop.files.reads import photographs, stored
from shop.files.rules import MEDIA_TYPE
from shop.gear import actions
from shop.gear.models import Identifier, Item
from shop.gear.reads import item_tag, own_subjects
from shop.gear.shapes import (
    FactsIn,
    GasIn,
    IdentifierIn,
    ItemIn,
    ItemOut,
    MergeCustomerIn,
    OneItemOut,
    OwnerIn,
    PhotographIn,
    PhotographOut,
    SpotIn,
    SpotOut,
    StandingIn,
    StateIn,
)
from shop.journal.reads import history, subjects_of
from shop.paper.api import paper_door
from shop.staff.api import History
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import HistoryOut


def items() -> Any:
    """Items with what their shape shows."""
    return Item.objects.select_related("model", "owner", "merged_into", "split_from").prefetch_related(
        "identifiers"
    )


class Items(Door):
    @reads(ItemOut, many=True)
    def get(self, request: Request) -> Any:
        """Every item that was not merged into another."""
        require(self.by, Can.SEE)
        return items().filter(merged_into=None)

    @verb(ItemIn, OneItemOut, creates=True)
    def post(self, request: Request, data: Any) -> Item:
        """Add an item."""
        return actions.add_item(by=self.by, **data)


class OneItem(Door):
    @reads(OneItemOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """One item."""
        require(self.by, Can.SEE)
        return get_object_or_404(items(), uid=uid)


class Identifiers(Door):
    @verb(IdentifierIn, OneItemOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Item:
        """Add a mark to an item; `alike` in the answer warns of equal serials."""
        return actions.add_identifier(by=self.by, item=get_object_or_404(Item, uid=uid), seen=seen, **data)


class IdentifierState(Door):
    @verb(StateIn, OneItemOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Item:
        """Call a mark read, unreadable or disputed; the version is its item's."""
        row = get_object_or_404(Identifier.objects.select_related("item"), uid=uid)
        return actions.mark_identifier(by=self.by, identifier=row, seen=seen, **data)


class Gas(Door):
    @verb(GasIn, OneItemOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Item:
        """State the most oxygen in the gas that an item is used with."""
        return actions.state_gas(by=self.by, item=get_object_or_404(Item, uid=uid), seen=seen, **data)


class Facts(Door):
    @verb(FactsIn, OneItemOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Item:
        """State what an item is made to and of, what it is used for, its first days; its clocks are reckoned by it."""
        return actions.state_facts(by=self.by, item=get_object_or_404(Item, uid=uid), seen=seen, **data)


class ItemStanding(Door):
    @verb(StandingIn, OneItemOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Item:
        """Say what became of an item: while it is not in use its clocks call for nobody."""
        return actions.say_standing(by=self.by, item=get_object_or_404(Item, uid=uid), seen=seen, **data)


class Owner(Door):
    @verb(OwnerIn, OneItemOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Item:
        """Pass an item to another owner."""
        return actions.change_owner(by=self.by, item=get_object_or_404(Item, uid=uid), seen=seen, **data)


class MergeCustomer(Door):
    @verb(MergeCustomerIn, CustomerOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Customer:
        """Merge this customer into another, who is the answer; what they own moves."""
        lose = get_object_or_404(Customer, uid=uid)
        return actions.merge_owners(by=self.by, keep=data["into"], lose=lose, seen=seen)


class ItemHistory(History):
    @reads(HistoryOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Everything journalled about an item and its jobs, newest first."""
        require(self.by, Can.SEE)
        return history(subjects_of("item", get_object_or_404(Item, uid=uid)))


class ItemPhotographs(Door):
    parser_classes = [MultiPartParser]

    @reads(PhotographOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The photographs of an item, newest first."""
        require(self.by, Can.SEE)
        return photographs(own_subjects(get_object_or_404(Item, uid=uid)))

    @verb(PhotographIn, PhotographOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Photograph:
        """Keep a photograph of an item."""
        return actions.photograph_item(by=self.by, item=get_object_or_404(Item, uid=uid), **data)


class OnePhotograph(Door):
    def perform_content_negotiation(self, request: Request, force: bool = False) -> tuple[BaseRenderer, str]:
        """Whoever asks for image/jpeg alone is served too; an error is a problem document as everywhere."""
        return JSONRenderer(), JSON

    @sends(MEDIA_TYPE)
    def get(self, request: Request, uid: UUID) -> bytes:
        """The bytes of a photograph, whatever it is of."""
        require(self.by, Can.SEE)
        return stored(
            get_object_or_404(Photograph.objects.select_related("file"), file__gone=None, uid=uid).file
        )


class Spots(Door):
    def photograph(self, uid: UUID) -> Photograph:
        return get_object_or_404(Photograph, uid=uid)

    @reads(SpotOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Where to look on a photograph."""
        require(self.by, Can.SEE)
        return self.photograph(uid).spots.select_related("photograph")

    @verb(SpotIn, SpotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Spot:
        """Say where to look on a photograph."""
        return actions.point_at(by=self.by, photograph=self.photograph(uid), **data)


urlpatterns = [
    path("items", Items.as_view(), name="items"),
    path("items/<uuid:uid>", OneItem.as_view(), name="item"),
    path("items/<uuid:uid>/tag.pdf", paper_door(item_tag), name="item_tag"),
    path("items/<uuid:uid>/identifiers", Identifiers.as_view(), name="identifiers"),
    path("items/<uuid:uid>/gas", Gas.as_view(), name="item_gas"),
    path("items/<uuid:uid>/facts", Facts.as_view(), name="item_facts"),
    path("items/<uuid:uid>/standing", ItemStanding.as_view(), name="item_standing"),
    path("items/<uuid:uid>/owner", Owner.as_view(), name="owner"),
    path("items/<uuid:uid>/history", ItemHistory.as_view(), name="item_history"),
    path("identifiers/<uuid:uid>/state", IdentifierState.as_view(), name="identifier_state"),
    path("customers/<uuid:uid>/merge", MergeCustomer.as_view(), name="merge_customer"),
    path("items/<uuid:uid>/photographs", ItemPhotographs.as_view(), name="item_photographs"),
    path("photographs/<uuid:uid>", OnePhotograph.as_view(), name="photograph"),
    path("photographs/<uuid:uid>/spots", Spots.as_view(), name="spots"),
]
