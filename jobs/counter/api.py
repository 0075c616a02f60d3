"""The API's door to the day at the counter."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from jobs.counter.reads import counter_day
from jobs.counter.shapes import CounterDayOut
from shop.api.api import Door, reads
from shop.staff.reads import require
from shop.staff.rules import Can


class CounterDay(Door):
    @reads(CounterDayOut)
    def get(self, request: Request) -> Any:
        """The day at the counter: booked, promised, ready, not collected, and what is next about each."""
        require(self.by, Can.SEE)
        return counter_day()


urlpatterns = [path("counter-day", CounterDay.as_view(), name="counter_day")]
