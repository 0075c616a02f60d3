"""The Office's table of likely causes."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.advice import actions
from shop.advice.models import Advice
from shop.advice.reads import present, shipped_missing
from shop.advice.shapes import AdviceIn
from shop.api.shapes import Nothing
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page


class ManyAdvice(Page):
    template, room = "advice/table.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        may_keep = self.by.may(Can.KEEP_PLANS)
        return {
            "rows": present(),
            "missing": len(shipped_missing()) if may_keep else 0,
            "may_keep": may_keep,
        }


class NewAdvice(FormPage):
    takes, title, room, button, cancel = AdviceIn, "New likely cause", "office", "Add it", "many_advice"
    lead = "It is shown as advice beside a verdict that is not within, never as a finding."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_advice(by=self.by, **data)
        return reverse("many_advice")


class AdvicePage(FormPage):
    """A page about one likely cause."""

    room, cancel = "office", "many_advice"

    def advice(self) -> Advice:
        return get_object_or_404(Advice, uid=self.kwargs["uid"])

    def seen(self) -> int:
        return self.advice().version


class ChangeAdvice(AdvicePage):
    takes, title, button = AdviceIn, "Change a likely cause", "Save"

    def start(self) -> Mapping[str, Any]:
        row = self.advice()
        return {name: getattr(row, name) for name in ("what", "side", "kind", "part", "words", "source")}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_advice(by=self.by, advice=self.advice(), seen=seen or 0, **data)
        return reverse("many_advice")


class WithdrawAdvice(AdvicePage):
    takes, title, button = Nothing, "Withdraw a likely cause", "Withdraw it"

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        row = self.advice()
        lead = f"{row}. It is shown no more; the row and what was done with it stay."
        return super().show(status, template, **more | {"lead": lead})

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.withdraw_advice(by=self.by, advice=self.advice(), seen=seen or 0)
        return reverse("many_advice")


class ShippedAdvice(FormPage):
    takes, title, room, button, cancel = Nothing, "The rows that come with the house", "office", "Add them", "many_advice"  # fmt: skip
    lead = "General knowledge of the trade, without a source. What you withdrew or changed is left alone."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_shipped(by=self.by)
        return reverse("many_advice")


urlpatterns = [
    path("office/advice", ManyAdvice.as_view(), name="many_advice"),
    path("office/advice/new", NewAdvice.as_view(), name="new_advice"),
    path("office/advice/shipped", ShippedAdvice.as_view(), name="shipped_advice"),
    path("office/advice/<uuid:uid>/change", ChangeAdvice.as_view(), name="change_advice"),
    path("office/advice/<uuid:uid>/withdraw", WithdrawAdvice.as_view(), name="withdraw_advice"),
]
