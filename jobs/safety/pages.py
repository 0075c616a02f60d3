"""The Office's pages of safety notices: the list, one with its matches and calls, making, answering; a lot's own."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django.db.models import F
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.safety import actions
from jobs.safety.api import file_of
from jobs.safety.models import Notice
from jobs.safety.reads import call_list, matches, newest, notices, progress, waiting_of
from jobs.safety.rules import MOST_SHOWN, SAID, Became
from jobs.safety.shapes import MatchAnswerIn, NoticeIn, TitledIn, ToldIn, WithdrawIn
from shop.api.shapes import Nothing
from shop.catalogue.models import Model
from shop.customers.models import Customer
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.pages import LotPage
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form


class Notices(Page):
    template, room = "safety/notices.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = notices().order_by("-pk")[:MOST_SHOWN]
        return {"notices": rows, "may_keep": self.by.may(Can.KEEP_NOTICES)}


class OneNotice(Page):
    template, room = "safety/notice.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        notice = get_object_or_404(notices(), uid=kwargs["uid"])
        calls = call_list(notice)
        # What waits for an answer first, of that what is here first.
        order = (F("became").asc(nulls_first=True), "-here", "pk")
        return {
            "notice": notice,
            "progress": progress(notice),
            "matches": matches().filter(notice=notice).order_by(*order)[:MOST_SHOWN],
            "calls": calls[:MOST_SHOWN],
            "callers": len(calls),
            "may_keep": self.by.may(Can.KEEP_NOTICES),
            "may_answer": self.by.may(Can.ANSWER_NOTICE),
        }


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


class Letters(OfNotice):
    takes, title, button = Nothing, "Write to owners", "Have the letters written"
    lead = "One to each owner with an address whose gear waits for an answer, whatever they said about reminders."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.write_to_owners(by=self.by, notice=self.notice)
        return self.back()


class OfMatch(FormPage):
    """The base of the forms about a match."""

    room = "office"

    @cached_property
    def match(self) -> Any:
        return get_object_or_404(matches(), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("notice", args=[self.match.notice.uid])


class Told(OfMatch):
    """The owner of a matched item was told, of it and of all else of theirs that waits for an answer."""

    takes, title, button = ToldIn, "An owner was told", "They were told"

    @cached_property
    def owner(self) -> Customer:
        if self.match.item is None:
            raise Http404
        return self.match.item.kept.owner  # type: ignore[no-any-return]  # the type of an annotated row is not known

    def about(self) -> str:
        rows = waiting_of(self.match.notice, [self.owner.pk])
        items = ", ".join(f"{row.item.title} ({row.item.label})" for row in rows)
        return f"{self.owner.name}, {self.owner.phone or 'no telephone'}: {items or 'nothing of theirs waits any more'}."

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.fields = [each for each in form.fields if each.name != "customer"]
        form.hidden.append({"name": "customer", "value": self.owner.uid})
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.told_owner(by=self.by, notice=self.match.notice, **data)
        return self.back()


class AnswerFor(OfMatch):
    """What became of a match; where an answer stands, it is corrected."""

    takes, title, button = MatchAnswerIn, "Answer a safety notice", "Answer it"

    def about(self) -> str:
        row, stands = self.match, newest(self.match)
        what = (
            f"Lot {row.lot.number} of {row.lot.part}"
            if row.lot
            else f"{row.item.title}, {row.item.marks} ({row.item.label})"
        )
        before = f" This corrects “{stands}”, which stays to be read." if stands else ""
        return f"{row.notice.title}: {what}, {row.how}.{before} The notice's own text says what is to be looked at."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        of_lot = (Became.FINE, Became.GONE)
        return {"became": [(each.value, SAID[each]) for each in (of_lot if self.match.lot else Became)]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, stands = super().form(*args, **kwargs), newest(self.match)
        left_out = ("corrects", "job") if self.match.lot else ("corrects",)
        form.fields = [each for each in form.fields if each.name not in left_out]
        form.hidden.append({"name": "corrects", "value": stands.uid if stands else ""})
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.answer_match(by=self.by, match=self.match, **data)
        return self.back()


class NoticeFile(Page):
    """The matches of a notice as a file."""

    csv = True

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        return file_of(get_object_or_404(Notice, uid=kwargs["uid"]), csv=self.csv)


urlpatterns = [
    path("office/notices", Notices.as_view(), name="notices"),
    path("office/notices/new", NewNotice.as_view(), name="new_notice"),
    path("office/notices/<uuid:uid>", OneNotice.as_view(), name="notice"),
    path("office/notices/<uuid:uid>/withdraw", Withdraw.as_view(), name="withdraw_notice"),
    path("office/notices/<uuid:uid>/letters", Letters.as_view(), name="write_to_owners"),
    path("office/matches/<uuid:uid>/told", Told.as_view(), name="told_owner"),
    path("office/notices/<uuid:uid>/matches.csv", NoticeFile.as_view(), name="notice_csv"),
    path("office/notices/<uuid:uid>/matches.json", NoticeFile.as_view(csv=False), name="notice_json"),
    path("office/matches/<uuid:uid>/answer", AnswerFor.as_view(), name="answer_match"),
    path("store/lots/<uuid:uid>/notice", LotNotice.as_view(), name="lot_notice"),
]
