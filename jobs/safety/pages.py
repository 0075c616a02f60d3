"""The pages of safety notices: the list, making one, withdrawing it; a lot's own."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.safety import actions
from jobs.safety.models import Notice
from jobs.safety.reads import notices
from jobs.safety.rules import MOST_SHOWN
from jobs.safety.shapes import NoticeIn, TitledIn, WithdrawIn
from shop.catalogue.models import Model
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.pages import LotPage
from shop.web.pages import FormPage, Page


class Notices(Page):
    template, room = "safety/notices.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = notices().order_by("-pk")[:MOST_SHOWN]
        return {"notices": rows, "may_keep": self.by.may(Can.KEEP_NOTICES)}


class NewNotice(FormPage):
    takes, title, room, button, cancel = NoticeIn, "New safety notice", "office", "Make it", "notices"
    lead = "Lots that it names are blocked at once. Gear is looked through within seconds, and again whenever it comes in."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        rows = Model.objects.order_by("maker", "name", "revision", "kind")
        return {"models": [(model.uid, f"{model}, {model.kind_label}") for model in rows]}

    def about(self) -> str:
        return "It is frozen once it is made: withdraw a wrong one and make another. The issuer's own text goes before ours."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("notice", args=[actions.make_notice(by=self.by, **data).uid])


class LotNotice(LotPage):
    takes, title, button = TitledIn, "Make a safety notice of this lot", "Make it"
    lead = "Nothing of it is taken any more, and all gear into which its pieces went is looked up."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("notice", args=[actions.notice_of_lot(by=self.by, lot=self.lot(), **data).uid])


class OfNotice(FormPage):
    """The base of the forms about a notice."""

    room = "office"

    @cached_property
    def notice(self) -> Notice:
        row: Notice = get_object_or_404(notices(), uid=self.kwargs["uid"])
        return row

    def about(self) -> str:
        return f"{self.notice.title} ({self.notice.source})"

    def back(self) -> str:
        return reverse("notice", args=[self.notice.uid])


class Withdraw(OfNotice):
    takes, title, button = WithdrawIn, "Withdraw a safety notice", "Withdraw it"
    lead = "It stops nothing any more. What it matched and what was answered stays to be read."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.withdraw_notice(by=self.by, notice=self.notice, **data)
        return self.back()


urlpatterns = [
    path("office/notices", Notices.as_view(), name="notices"),
    path("office/notices/new", NewNotice.as_view(), name="new_notice"),
    path("office/notices/<uuid:uid>/withdraw", Withdraw.as_view(), name="withdraw_notice"),
    path("store/lots/<uuid:uid>/notice", LotNotice.as_view(), name="lot_notice"),
]
