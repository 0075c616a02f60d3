"""What is lent, and the forms to lend an item and to bring it back."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.lending import actions
from jobs.lending.models import Loan
from jobs.lending.reads import loans, out
from jobs.lending.shapes import BringBackIn, LendIn
from shop.gear.models import Item
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.reads import today

MOST_ROWS = 200


class Lent(Page):
    template, room = "lending/list.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows, day = out(), today()
        return {
            "rows": [(row, row.late(day)) for row in rows.order_by("until", "pk")[:MOST_ROWS]],
            "count": rows.count(),
            "late": rows.filter(until__lt=day).count(),
            "may_lend": self.by.may(Can.LEND),
        }


class Lend(FormPage):
    takes, title, room, button = LendIn, "Lend it", "counter", "Lend it"
    lead = (
        "By our records nothing of it may be due until it is back, and nobody overrides that. It says nothing about "
        "whether the gear is safe: look it over before it goes. Whether the borrower may dive with it, by certificate "
        "and by the rules of the place, is for you to ask; it is not kept here."
    )

    def item(self) -> Item:
        return get_object_or_404(Item.objects.select_related("model"), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("item", args=[self.kwargs["uid"]])

    def about(self) -> str:
        item = self.item()
        return f"{item.label}, {item.title}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.lend(by=self.by, item=self.item(), **data)
        return self.back()


class BringBack(FormPage):
    takes, title, room, button = BringBackIn, "Bring it back", "counter", "It is back"
    lead = "What you say of it is kept, and nothing more happens by it: if anything is wrong with it, check it in next."

    def loan(self) -> Loan:
        return get_object_or_404(loans(), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("item", args=[self.loan().item.uid])

    def about(self) -> str:
        row = self.loan()
        went = f"Lent to {row.borrower.kept.name} on {row.out_on:%-d %B %Y}, back by {row.until:%-d %B %Y}."
        return f"{row.item.label}, {row.item.title}. {went}" + (
            f" It went out so: {row.note}" if row.note else ""
        )

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.bring_back(by=self.by, loan=self.loan(), **data)
        return self.back()


urlpatterns = [
    path("lent", Lent.as_view(), name="lent"),
    path("items/<uuid:uid>/lend", Lend.as_view(), name="lend"),
    path("loans/<uuid:uid>/bring-back", BringBack.as_view(), name="bring_back"),
]
