"""The API's doors to the store."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.paper.api import paper_door
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock import actions
from shop.stock.models import Bin, Content, Lot, Part
from shop.stock.reads import bin_label, lot_label, lot_labels, standing
from shop.stock.shapes import (
    BinIn,
    BinOut,
    ContentIn,
    ContentOut,
    ExtensionIn,
    FitnessIn,
    LevelOut,
    LotOut,
    MovementIn,
    MovementOut,
    OpenKitIn,
    PartChangeIn,
    PartIn,
    PartOut,
    ReceiveIn,
)
from shop.workshop.reads import today

SEEN_WITH = ("lots__part", "lots__stored__bin", "contents__part")


def with_lots(part: Part) -> Part:
    """A part as its shape reads it."""
    return Part.objects.prefetch_related(*SEEN_WITH).get(pk=part.pk)


class Bins(Door):
    @reads(BinOut, many=True)
    def get(self, request: Request) -> Any:
        """The bins of every site."""
        require(self.by, Can.SEE)
        return Bin.objects.all()

    @verb(BinIn, BinOut, creates=True)
    def post(self, request: Request, data: Any) -> Bin:
        """Add a bin at a site."""
        return actions.add_bin(by=self.by, **data)


class Parts(Door):
    @reads(PartOut, many=True)
    def get(self, request: Request) -> Any:
        """Parts with their lots."""
        require(self.by, Can.SEE)
        return Part.objects.prefetch_related(*SEEN_WITH)

    @verb(PartIn, PartOut, creates=True)
    def post(self, request: Request, data: Any) -> Part:
        """Add a part."""
        return actions.add_part(by=self.by, **data)


class OnePart(Door):
    @reads(PartOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """A part with its lots."""
        require(self.by, Can.SEE)
        return get_object_or_404(Part.objects.prefetch_related(*SEEN_WITH), uid=uid)

    @verb(PartChangeIn, PartOut, seen=True)
    def put(self, request: Request, uid: UUID, data: Any, seen: int) -> Part:
        """Say its name, maker, size and unit, and at which level it is ordered."""
        return with_lots(
            actions.change_part(by=self.by, part=get_object_or_404(Part, uid=uid), seen=seen, **data)
        )


class Fitness(Door):
    @verb(FitnessIn, PartOut, seen=True)
    def put(self, request: Request, uid: UUID, data: Any, seen: int) -> Part:
        """State for which gas services it is fit."""
        return with_lots(
            actions.state_fitness(by=self.by, part=get_object_or_404(Part, uid=uid), seen=seen, **data)
        )


class PartLevel(Door):
    @reads(LevelOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """How many of a part are on hand, in life, spoken for and free, and which open jobs still need some."""
        require(self.by, Can.SEE)
        part = get_object_or_404(Part, uid=uid)
        level, found = standing(part, today())
        return {"day": today(), "unit": part.unit, "level": level, "shares": found}


class Receive(Door):
    @verb(ReceiveIn, LotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Lot:
        """Receive a quantity of a lot."""
        return actions.receive(by=self.by, part=get_object_or_404(Part, uid=uid), **data)


class Extension(Door):
    @verb(ExtensionIn, LotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Lot:
        """Extend the life of a lot once after an inspection, as its published rule allows."""
        return actions.extend(by=self.by, lot=get_object_or_404(Lot, uid=uid), **data)


class Movements(Door):
    @reads(MovementOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Every movement of a lot, newest first; their sum is what is on hand."""
        require(self.by, Can.SEE)
        return get_object_or_404(Lot, uid=uid).movements.select_related("bin", "lot__part")

    @verb(MovementIn, LotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Lot:
        """Take, put back, scrap, count or move pieces of a lot outside a job."""
        return actions.move_by_hand(by=self.by, lot=get_object_or_404(Lot, uid=uid), **data)


class Contents(Door):
    @verb(ContentIn, ContentOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Content:
        """Say what a maker's bagged kit holds."""
        return actions.add_content(by=self.by, kit=get_object_or_404(Part, uid=uid), **data)


class OpenKit(Door):
    @verb(OpenKitIn, LotOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Lot:
        """Open kits of a lot."""
        lot = get_object_or_404(Lot.objects.select_related("part"), uid=uid)
        return actions.open_kit(by=self.by, lot=lot, **data)


urlpatterns = [
    path("parts/<uuid:uid>/contents", Contents.as_view(), name="contents"),
    path("lots/<uuid:uid>/open", OpenKit.as_view(), name="open_kit"),
    path("bins", Bins.as_view(), name="bins"),
    path("parts", Parts.as_view(), name="parts"),
    path("parts/<uuid:uid>", OnePart.as_view(), name="part"),
    path("parts/<uuid:uid>/level", PartLevel.as_view(), name="part_level"),
    path("parts/<uuid:uid>/fitness", Fitness.as_view(), name="fitness"),
    path("parts/<uuid:uid>/lots", Receive.as_view(), name="receive"),
    path("lots/<uuid:uid>/extension", Extension.as_view(), name="extend_lot"),
    path("lots/<uuid:uid>/movements", Movements.as_view(), name="movements"),
    path("lots/<uuid:uid>/label.pdf", paper_door(lot_label), name="lot_label"),
    path("parts/<uuid:uid>/labels.pdf", paper_door(lot_labels), name="lot_labels"),
    path("bins/<uuid:uid>/label.pdf", paper_door(bin_label), name="bin_label"),
]
