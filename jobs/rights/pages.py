"""The page of a customer's rights, and its forms."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.rights import actions
from jobs.rights.api import archive
from jobs.rights.models import Erasure
from jobs.rights.reads import rights
from jobs.rights.shapes import EraseIn, ErasureCloseIn, ErasureIn
from shop.api.shapes import Nothing
from shop.customers.models import Customer
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.reads import today
from shop.workshop.rules import Refused


class OnesRights(Page):
    template, room, needs = "rights/rights.html", "office", Can.ANSWER_FOR_RIGHTS

    def context(self, **kwargs: Any) -> dict[str, Any]:
        customer = get_object_or_404(Customer.objects.select_related("merged_into"), uid=kwargs["uid"])
        return {"customer": customer, "rights": rights(customer), "today": today()}


class OfCustomer(FormPage):
    """The base of the forms about a customer."""

    room, needs = "office", Can.ANSWER_FOR_RIGHTS

    def customer(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("rights", args=[self.customer().uid])


class GiveOut(OfCustomer):
    takes, title, button = Nothing, "Take their data out", "Take it out"
    lead = "One archive for the customer: every row that is theirs as JSON, with photographs, documents and letters."

    def about(self) -> str:
        return (
            "Make sure that whoever gets it is the customer. It stands in the journal, with your name. "
            "It is sent to your browser once and not kept here."
        )

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            answer: HttpResponse = archive(self.by, self.customer())  # type: ignore[assignment]  # a file is sent as it is read
        except Refused as refused:
            return self.again(409, refused.refusals)
        return answer


class Ask(OfCustomer):
    takes, title, button = ErasureIn, "They ask to be erased", "Write it down"
    lead = "The safety record of the gear stays under the customer's number: what was done and measured, and by whom."

    def start(self) -> Mapping[str, Any]:
        return {"asked_on": today()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.ask_erasure(by=self.by, customer=self.customer(), **data)
        return self.back()


class OfErasure(OfCustomer):
    """The base of the forms about a request."""

    def erasure(self) -> Erasure:
        return get_object_or_404(Erasure.objects.select_related("customer"), uid=self.kwargs["uid"])

    def customer(self) -> Customer:
        return self.erasure().customer


class Erase(OfErasure):
    takes, title, button = EraseIn, "Erase the customer", "Erase them for good"
    lead = "Nothing brings it back. Take their data out first if they want it."

    def about(self) -> str:
        row = self.customer()
        return (
            f"{row.label} {row.name}. Name, telephone, e-mail, postal address, letters, answers, owner's marks, names of sets and collectors, and "
            "the photographs of gear and of what was brought go; private links end, bookings are cancelled. Signed copies that were given away cannot be taken back, and "
            "backups hold everything until they are thrown away."
        )

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        people = Person.objects.filter(is_active=True).exclude(pk=self.by.pk).order_by("name")
        return {"second": [(person.uid, person.name) for person in people]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        for name in ("second", "second_secret"):
            form.ask_if(name, needed=True)
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.erase(by=self.by, erasure=self.erasure(), **data)
        return self.back()


class Close(OfErasure):
    takes, title, button = ErasureCloseIn, "Close the request without erasing", "Close it"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.close_erasure(by=self.by, erasure=self.erasure(), **data)
        return self.back()


urlpatterns = [
    path("customers/<uuid:uid>/rights", OnesRights.as_view(), name="rights"),
    path("customers/<uuid:uid>/data", GiveOut.as_view(), name="give_out"),
    path("customers/<uuid:uid>/erasures/new", Ask.as_view(), name="ask_erasure"),
    path("erasures/<uuid:uid>/erase", Erase.as_view(), name="erase"),
    path("erasures/<uuid:uid>/close", Close.as_view(), name="close_erasure"),
]
