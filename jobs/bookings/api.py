"""The API's doors to bookings and to the days that may be booked."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.bookings import actions
from jobs.bookings.models import Booking, DropOffDays
from jobs.bookings.reads import bookings
from jobs.bookings.shapes import BookIn, BookingOut, DayIn, DaysIn, DaysOut
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.customers.models import Customer
from shop.staff.reads import require
from shop.staff.rules import Can


class Bookings(Door):
    @reads(BookingOut, many=True)
    def get(self, request: Request) -> Any:
        """Days that customers booked, newest first."""
        require(self.by, Can.SEE)
        return bookings()


class Book(Door):
    @verb(BookIn, BookingOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Booking:
        """Book a day for a customer."""
        row = actions.book(by=self.by, customer=get_object_or_404(Customer, uid=uid), **data)
        return bookings().get(pk=row.pk)


class MoveBooking(Door):
    @verb(DayIn, BookingOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Booking:
        """Move a booking to another day."""
        row = get_object_or_404(bookings(), uid=uid)
        row = actions.move_booking(by=self.by, booking=row, seen=seen, **data)
        return bookings().get(pk=row.pk)


class CancelBooking(Door):
    @verb(Nothing, BookingOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Booking:
        """Cancel a booking."""
        row = get_object_or_404(bookings(), uid=uid)
        row = actions.cancel_booking(by=self.by, booking=row, seen=seen)
        return bookings().get(pk=row.pk)


class DropOffDay(Door):
    @reads(DaysOut)
    def get(self, request: Request) -> DropOffDays:
        """How many drop-offs a day has room for, and on which days."""
        require(self.by, Can.SEE)
        return DropOffDays.objects.first() or DropOffDays()

    @verb(DaysIn, DaysOut, seen=True)
    def put(self, request: Request, data: Any, seen: int) -> DropOffDays:
        """Say so."""
        return actions.set_days(by=self.by, seen=seen, **data)


urlpatterns = [
    path("bookings", Bookings.as_view(), name="bookings"),
    path("customers/<uuid:uid>/bookings", Book.as_view(), name="book"),
    path("bookings/<uuid:uid>/move", MoveBooking.as_view(), name="move_booking"),
    path("bookings/<uuid:uid>/cancel", CancelBooking.as_view(), name="cancel_booking"),
    path("drop-off-days", DropOffDay.as_view(), name="drop_off_days"),
]
