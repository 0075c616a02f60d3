"""The Counter's front page."""

from typing import Any

from django.urls import path

from jobs.answers.reads import waiting as answers_waiting
from jobs.counter.reads import counter_day
from jobs.estimates.reads import to_ask_again
from jobs.porthole.reads import waiting as questions_waiting
from shop.money.reads import terms
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import Page


class Counter(Page):
    template, room = "counter/counter.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        days = terms().nudge_days
        more = {
            "may_check_in": self.by.may(Can.CHECK_IN),
            "ask_again": to_ask_again(days),
            "nudge_days": days,
            "questions": questions_waiting().count(),
            "answers": answers_waiting().count(),
        }
        return counter_day() | more


urlpatterns = [path("counter", Counter.as_view(), name="counter")]
