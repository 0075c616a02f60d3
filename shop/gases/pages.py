"""The oxygen threshold, with what is published, and the form that sets it."""

from collections.abc import Mapping
from typing import Any

from django.urls import path, reverse

from shop.gases import actions
from shop.gases.reads import setting
from shop.gases.rules import OXYGEN_ABOVE, PUBLISHED, STRICT, percent
from shop.gases.shapes import ThresholdIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page


class Threshold(Page):
    template, room = "gases/threshold.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {
            "threshold": percent(setting().threshold),
            "strict": percent(STRICT),
            "oxygen": percent(OXYGEN_ABOVE),
            "published": PUBLISHED,
            "may_set": self.by.may(Can.KEEP_PLANS),
        }


class SetThreshold(FormPage):
    takes, title, room, button, cancel = (
        ThresholdIn, "Oxygen threshold", "office", "Save", "oxygen_threshold",
    )  # fmt: skip
    lead = "Parts that were taken before keep the rule they were taken by; at sign-off the rule of that day is asked."

    def start(self) -> Mapping[str, Any]:
        return {"threshold": percent(setting().threshold).removesuffix(" %")}

    def seen(self) -> int:
        return setting().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_threshold(by=self.by, seen=seen or 0, **data)
        return reverse("oxygen_threshold")


urlpatterns = [
    path("office/oxygen-threshold", Threshold.as_view(), name="oxygen_threshold"),
    path("office/oxygen-threshold/set", SetThreshold.as_view(), name="set_oxygen_threshold"),
]
