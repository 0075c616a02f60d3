"""Suppliers, what they sell, and who sells a part."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Part
from shop.stock.pages import PartPage
from shop.suppliers import actions
from shop.suppliers.api import the_offer
from shop.suppliers.models import Supplier
from shop.suppliers.reads import sold
from shop.suppliers.shapes import OfferIn, SupplierIn, TermsIn
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.reads import currency
from shop.workshop.rules import in_unit, money, priced


def amount(units: int | None) -> str:
    """An amount as a form holds it; nothing where it is not known."""
    return "" if units is None else money(units, currency())


class Suppliers(Page):
    template, room = "suppliers/suppliers.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = Supplier.objects.order_by("name").prefetch_related("offers")
        return {"suppliers": rows, "may_keep": self.by.may(Can.KEEP_STOCK)}


class OneSupplier(Page):
    """A supplier and all that they sell."""

    template, room = "suppliers/supplier.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        supplier = get_object_or_404(Supplier, uid=kwargs["uid"])
        may_keep = self.by.may(Can.KEEP_STOCK)
        return {"supplier": supplier, "offers": sold(supplier=supplier), "may_keep": may_keep}


class NewSupplier(FormPage):
    takes, title, room, button, cancel = SupplierIn, "New supplier", "store", "Add it", "suppliers"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("supplier", args=[actions.add_supplier(by=self.by, **data).uid])


class ChangeSupplier(FormPage):
    takes, title, room, button = SupplierIn, "Change a supplier", "store", "Save"

    def supplier(self) -> Supplier:
        return get_object_or_404(Supplier, uid=self.kwargs["uid"])

    def about(self) -> str:
        return str(self.supplier())

    def seen(self) -> int:
        return self.supplier().version

    def start(self) -> Mapping[str, Any]:
        row = self.supplier()
        lead = "" if row.lead_days is None else row.lead_days
        return {"name": row.name, "email": row.email, "lead_days": lead}

    def back(self) -> str:
        return reverse("supplier", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_supplier(by=self.by, supplier=self.supplier(), seen=seen or 0, **data)
        return self.back()


class Offers(Page):
    """Who sells a part."""

    template, room = "suppliers/offers.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        part = get_object_or_404(Part, uid=kwargs["uid"])
        known = {"part": part, "offers": sold(part=part), "may_keep": self.by.may(Can.KEEP_STOCK)}
        return known | {"suppliers": Supplier.objects.exists()}


class NewOffer(PartPage):
    takes, title, button = OfferIn, "Who sells a part", "Add it"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"supplier": [(row.uid, row.name) for row in Supplier.objects.order_by("name")]}

    def back(self) -> str:
        return reverse("offers", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_offer(by=self.by, part=self.part(), **data)
        return self.back()


class OfferPage(FormPage):
    """The base of the forms about an offer."""

    room = "store"

    def about(self) -> str:
        offer = the_offer(self.kwargs["uid"])
        cost = priced(offer.price, currency())
        return f"{offer}: packs of {in_unit(offer.pack_size, offer.part.unit)}, price of a pack {cost}."

    def form(self, *given: Any, **more: Any) -> Form:
        form = super().form(*given, **more)
        form.count_in(the_offer(self.kwargs["uid"]).part.unit)
        return form

    def back(self) -> str:
        return reverse("offers", args=[the_offer(self.kwargs["uid"]).part.uid])


class ChangeOffer(OfferPage):
    takes, title = TermsIn, "Change an offer"
    lead = "What was ordered keeps the pack and the price of the day on which it was sent."

    def seen(self) -> int:
        return the_offer(self.kwargs["uid"]).version

    def start(self) -> Mapping[str, Any]:
        row = the_offer(self.kwargs["uid"])
        return {"number": row.number, "pack_size": row.pack_size, "price": amount(row.price)}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        offer = the_offer(self.kwargs["uid"])
        actions.change_offer(by=self.by, offer=offer, seen=seen or 0, **data)
        return self.back()


urlpatterns = [
    path("store/suppliers", Suppliers.as_view(), name="suppliers"),
    path("store/suppliers/new", NewSupplier.as_view(), name="new_supplier"),
    path("store/suppliers/<uuid:uid>", OneSupplier.as_view(), name="supplier"),
    path("store/suppliers/<uuid:uid>/change", ChangeSupplier.as_view(), name="change_supplier"),
    path("store/parts/<uuid:uid>/offers", Offers.as_view(), name="offers"),
    path("store/parts/<uuid:uid>/offers/new", NewOffer.as_view(), name="new_offer"),
    path("store/offers/<uuid:uid>/change", ChangeOffer.as_view(), name="change_offer"),
]
