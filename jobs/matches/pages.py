"""The pages of what a notice matches: all of it with the telephone list, letters, answers, files."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django.db.models import F
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.matches import actions
from jobs.matches.api import file_of
from jobs.matches.reads import call_list, matches, newest, progress, waiting_of
from jobs.matches.rules import SAID, Became
from jobs.matches.shapes import MatchAnswerIn, ToldIn
from jobs.safety.models import Notice
from jobs.safety.pages import OfNotice
from jobs.safety.reads import notices
from jobs.safety.rules import MOST_SHOWN
from shop.api.shapes import Nothing
from shop.customers.models import Customer
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.rules import grouped


class OneNotice(Page):
    template, room = "matches/notice.html", "office"

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
        return f"{self.owner.name}, {grouped(self.owner.phone) or 'no telephone'}: {items or 'nothing of theirs waits any more'}."

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
    path("office/notices/<uuid:uid>", OneNotice.as_view(), name="notice"),
    path("office/notices/<uuid:uid>/letters", Letters.as_view(), name="write_to_owners"),
    path("office/matches/<uuid:uid>/told", Told.as_view(), name="told_owner"),
    path("office/notices/<uuid:uid>/matches.csv", NoticeFile.as_view(), name="notice_csv"),
    path("office/notices/<uuid:uid>/matches.json", NoticeFile.as_view(csv=False), name="notice_json"),
    path("office/matches/<uuid:uid>/answer", AnswerFor.as_view(), name="answer_match"),
]
