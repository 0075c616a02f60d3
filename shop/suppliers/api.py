"""The API's doors to suppliers and what they sell."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Part
from shop.suppliers import actions
from shop.suppliers.models import Offer, Supplier
from shop.suppliers.shapes import OfferIn, OfferOut, SupplierIn, SupplierOut, TermsIn


def the_offer(uid: UUID) -> Offer:
    """An offer with its part and its supplier."""
    return get_object_or_404(Offer.objects.select_related("part", "supplier"), uid=uid)


class Suppliers(Door):
    @reads(SupplierOut, many=True)
    def get(self, request: Request) -> Any:
        """Suppliers."""
        require(self.by, Can.SEE)
        return Supplier.objects.all()

    @verb(SupplierIn, SupplierOut, creates=True)
    def post(self, request: Request, data: Any) -> Supplier:
        """Add a supplier."""
        return actions.add_supplier(by=self.by, **data)


class OneSupplier(Door):
    @reads(SupplierOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """A supplier."""
        require(self.by, Can.SEE)
        return get_object_or_404(Supplier, uid=uid)

    @verb(SupplierIn, SupplierOut, seen=True)
    def put(self, request: Request, uid: UUID, data: Any, seen: int) -> Supplier:
        """Change what is known of a supplier."""
        supplier = get_object_or_404(Supplier, uid=uid)
        return actions.change_supplier(by=self.by, supplier=supplier, seen=seen, **data)


class Offers(Door):
    @reads(OfferOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Who sells a part, in which packs and for how much."""
        require(self.by, Can.SEE)
        return get_object_or_404(Part, uid=uid).offers.select_related("part", "supplier")

    @verb(OfferIn, OfferOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Offer:
        """Say that a supplier sells a part."""
        return actions.add_offer(by=self.by, part=get_object_or_404(Part, uid=uid), **data)


class OneOffer(Door):
    @reads(OfferOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """An offer."""
        require(self.by, Can.SEE)
        return the_offer(uid)

    @verb(TermsIn, OfferOut, seen=True)
    def put(self, request: Request, uid: UUID, data: Any, seen: int) -> Offer:
        """Change an offer; what was sent keeps the pack and price of its day."""
        return actions.change_offer(by=self.by, offer=the_offer(uid), seen=seen, **data)


urlpatterns = [
    path("suppliers", Suppliers.as_view(), name="suppliers"),
    path("suppliers/<uuid:uid>", OneSupplier.as_view(), name="supplier"),
    path("parts/<uuid:uid>/offers", Offers.as_view(), name="offers"),
    path("offers/<uuid:uid>", OneOffer.as_view(), name="offer"),
]
