"""Bookings at the counter, and the days that may be booked."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.bookings import actions
from jobs.bookings.models import Booking, DropOffDays
from jobs.bookings.reads import bookings, days, offered, waiting
from jobs.bookings.shapes import BookPageIn, DayIn, DaysIn
from shop.api.shapes import Nothing
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.words.reads import said
from shop.words.rules import weekday_in
from shop.workshop.reads import today

ROOM_FOR = "room for {n}"
BEFORE = timedelta(days=30)  # how long those who did not come stand on the list


def day_choices(present: date | None = None, language: str = "en") -> list[tuple[str, str]]:
    """Days with room, as people read them; the day that a booking has now goes first."""
    room = said(language, ROOM_FOR)
    rows = [(day, f"{weekday_in(language, day)}, {room.format(n=n)}") for day, n in offered()]
    own = [(present, f"{weekday_in(language, present)}, as it is")] if present else []
    return [(day.isoformat(), words) for day, words in [*own, *rows]]


def item_choices(customer: Customer, language: str = "en") -> list[tuple[Any, str]]:
    """A customer's gear."""
    rows = customer.items.filter(merged_into=None).select_related("model").order_by("number")
    return [(item.uid, f"{item.title_in(language)} ({item.label})") for item in rows]


def chosen(customer: Customer, uids: list[Any]) -> list[Item]:
    """Those of a customer's items that were chosen."""
    return list(customer.items.filter(merged_into=None, uid__in=uids))


class Bookings(Page):
    template, room = "bookings/bookings.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        present, rows = today(), waiting().order_by("day", "pk")
        return {
            "today": rows.filter(day=present),
            "coming": rows.filter(day__gt=present)[:200],
            "missed": rows.filter(day__lt=present, day__gte=present - BEFORE).order_by("-day"),
            "came": bookings().filter(day=present).exclude(drop_off=None),
            "offers": days().a_day > 0,
            "may_check_in": self.by.may(Can.CHECK_IN),
            "may_set": self.by.may(Can.KEEP_PEOPLE),
        }


class Book(FormPage):
    takes, title, room, button = BookPageIn, "Book a drop-off", "counter", "Book it"

    def customer(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("customer", args=[self.kwargs["uid"]])

    def about(self) -> str:
        return f"{self.customer().label} {self.customer().name}"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"day": day_choices(), "items": item_choices(self.customer())}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        customer = self.customer()
        data["items"] = chosen(customer, data["items"])
        actions.book(by=self.by, customer=customer, **data)
        return reverse("bookings")


class OfBooking(FormPage):
    """The base of a form about a booking."""

    room, cancel = "counter", "bookings"

    def booking(self) -> Booking:
        return get_object_or_404(bookings(), uid=self.kwargs["uid"])

    def about(self) -> str:
        row = self.booking()
        return f"{row.customer.kept.name}, {row.day:%A, %-d %B %Y}"

    def seen(self) -> int | None:
        return self.booking().version


class MoveBooking(OfBooking):
    takes, title, button = DayIn, "Move a booking", "Move it"

    def start(self) -> Mapping[str, Any]:
        return {"day": self.booking().day.isoformat()}

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"day": day_choices(self.booking().day)}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.move_booking(by=self.by, booking=self.booking(), seen=seen or 0, **data)
        return self.back()


class CancelBooking(OfBooking):
    takes, title, button = Nothing, "Cancel a booking", "Cancel it"
    lead = "The customer is written to, and the day has room again."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.cancel_booking(by=self.by, booking=self.booking(), seen=seen or 0)
        return self.back()


class SetDays(FormPage):
    takes, title, room, button, cancel = DaysIn, "Drop-off days", "counter", "Keep it", "bookings"
    lead = "What customers may book by the links in their letters. On the workshop's closed days nobody can."

    def row(self) -> DropOffDays:
        return DropOffDays.objects.first() or DropOffDays()

    def start(self) -> Mapping[str, Any]:
        row = self.row()
        return {"a_day": row.a_day, "horizon": row.horizon}

    def seen(self) -> int | None:
        return self.row().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_days(by=self.by, seen=seen or 0, **data)
        return self.back()


urlpatterns = [
    path("bookings", Bookings.as_view(), name="bookings"),
    path("bookings/days", SetDays.as_view(), name="drop_off_days"),
    path("customers/<uuid:uid>/book", Book.as_view(), name="book"),
    path("bookings/<uuid:uid>/move", MoveBooking.as_view(), name="move_booking"),
    path("bookings/<uuid:uid>/cancel", CancelBooking.as_view(), name="cancel_booking"),
]
