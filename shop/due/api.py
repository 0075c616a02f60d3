"""The API's doors to what is due and to its calendar."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.clocks.shapes import ClockOut
from shop.due import actions
from shop.due.reads import address, due
from shop.due.shapes import CalendarOut, DueIn
from shop.staff.reads import require
from shop.staff.rules import Can

FILTERS = ("within", "kind", "clock", "whose")


class DueList(Door):
    @reads(ClockOut, many=True, filters=FILTERS)
    def get(self, request: Request) -> Any:
        """Clocks that are due `within` a time; overdue ones are among them, those of unknown history stand apart."""
        require(self.by, Can.SEE)
        asked = {name: request.query_params[name] for name in FILTERS if name in request.query_params}
        shape = DueIn(data=asked)
        shape.is_valid(raise_exception=True)
        return due(**shape.validated_data).order_by("pk")


class Calendar(Door):
    @reads(CalendarOut)
    def get(self, request: Request) -> str:
        """The secret address of the calendar of what is due."""
        require(self.by, Can.SEE)
        return address()


class RenewCalendar(Door):
    @verb(Nothing, CalendarOut)
    def post(self, request: Request, data: Any) -> str:
        """Give the calendar a new address; the one before ends at once."""
        return actions.renew_address(by=self.by)


urlpatterns = [
    path("due", DueList.as_view(), name="due"),
    path("due-calendar", Calendar.as_view(), name="calendar"),
    path("due-calendar/renew", RenewCalendar.as_view(), name="renew_calendar"),
]
