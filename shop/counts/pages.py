"""Counting a bin, by telephone: the sheet, one number at a time, and booking."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.counts import actions
from shop.counts.models import Count
from shop.counts.reads import sheet
from shop.counts.shapes import CountCloseIn, NumberIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Bin, Lot
from shop.web.pages import FormPage, Page
from shop.workshop.rules import counted_in

MOST_SHOWN = 100


class Counts(Page):
    template, room = "counts/counts.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"counts": Count.objects.select_related("bin").order_by("-pk")[:MOST_SHOWN]}


class OneCount(Page):
    template, room = "counts/count.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        count = get_object_or_404(Count.objects.select_related("bin"), uid=kwargs["uid"])
        rows, is_open = sheet(count), count.closed_at is None
        return {
            "count": count,
            "rows": rows,
            "left": sum(not row.settled for row in rows),
            "may_count": is_open and self.by.may(Can.OPEN_KIT),
            "may_book": is_open and self.by.may(Can.KEEP_STOCK),
        }


class BeginCount(FormPage):
    takes, title, room, button, cancel = Nothing, "Count a bin", "store", "Begin", "bins"
    lead = "The sheet says which lots lie there, not how many. Whoever counts the bin already is joined."

    def about(self) -> str:
        return str(get_object_or_404(Bin, uid=self.kwargs["uid"]))

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        count = actions.begin_count(by=self.by, bin=get_object_or_404(Bin, uid=self.kwargs["uid"]))
        return reverse("count", args=[count.uid])


class CountPage(FormPage):
    """The base of the forms of a count."""

    room = "store"

    def count(self) -> Count:
        return get_object_or_404(Count.objects.select_related("bin"), uid=self.kwargs["uid"])

    def about(self) -> str:
        return str(self.count().bin)

    def back(self) -> str:
        return reverse("count", args=[self.kwargs["uid"]])


class CountLot(CountPage):
    takes, title, button = NumberIn, "Count a lot", "Enter"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        rows = Lot.objects.select_related("part").order_by("part__number", "number")
        return {
            "lot": [(lot.uid, f"{lot.number}, {lot.part}, in {counted_in(lot.part.unit)}") for lot in rows]
        }

    def start(self) -> Mapping[str, Any]:
        return {"lot": self.request.GET.get("lot", "")}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.enter(by=self.by, count=self.count(), **data)
        return self.back()


class BookCount(CountPage):
    takes, title, button = CountCloseIn, "Book what differs", "Book it"
    lead = "What was taken since a lot was counted stays taken."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.book(by=self.by, count=self.count(), **data)
        return self.back()


class SetAside(CountPage):
    takes, title, button = CountCloseIn, "Set a count aside", "Set it aside"
    lead = "Nothing is booked; the numbers stay on its sheet."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_aside(by=self.by, count=self.count(), **data)
        return self.back()


urlpatterns = [
    path("store/counts", Counts.as_view(), name="counts"),
    path("store/bins/<uuid:uid>/count", BeginCount.as_view(), name="begin_count"),
    path("store/counts/<uuid:uid>", OneCount.as_view(), name="count"),
    path("store/counts/<uuid:uid>/lot", CountLot.as_view(), name="count_lot"),
    path("store/counts/<uuid:uid>/book", BookCount.as_view(), name="book_count"),
    path("store/counts/<uuid:uid>/set-aside", SetAside.as_view(), name="set_count_aside"),
]
