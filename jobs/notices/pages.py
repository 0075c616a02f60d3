"""The Office's pages of doubts: the list, one doubt with its call list, raising and answering."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any
from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.notices import actions
from jobs.notices.models import Affected, Doubt
from jobs.notices.reads import Standing, doubts, standings
from jobs.notices.rules import IN_A_PERIOD, SAID, About
from jobs.notices.shapes import ROWS, AnswerIn, CloseIn, DoubtIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.reads import today


class Doubts(Page):
    template, room = "notices/doubts.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"doubts": doubts().order_by("-is_open", "-pk")[:200]}


class OneDoubt(Page):
    template, room = "notices/doubt.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        doubt = get_object_or_404(doubts(), uid=kwargs["uid"])
        rows = standings(Affected.objects.filter(doubt=doubt))
        return {
            "doubt": doubt,
            "here": [row for row in rows if row.here],
            "gone": [row for row in rows if not row.here],
            "may_answer": self.by.may(Can.ANSWER_DOUBT),
        }


class NewDoubt(FormPage):
    """The form opens from what is doubted, whose address carries its uid; without it the page says where to go."""

    takes, title, room, button, cancel = DoubtIn, "Raise a doubt", "office", "Raise the doubt", "doubts"
    template = "notices/new_doubt.html"
    lead = "It edits nothing. Open jobs that rest on it stop, owners of gear that is gone are written to."

    @cached_property
    def doubted(self) -> Doubt | None:
        """What the address, or the form that was sent, names."""
        asked = self.request.POST or self.request.GET
        about = next((each for each in About if asked.get(each)), None)
        if about is None:
            return None
        try:
            uid = UUID(asked[about])
        except ValueError:
            raise Http404 from None
        return Doubt(about=about, **{about: get_object_or_404(ROWS[about], uid=uid)})

    def context(self, **kwargs: Any) -> dict[str, Any]:
        return {"doubted": self.doubted}

    def start(self) -> Mapping[str, Any]:
        return {"to_day": today().isoformat()}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, doubted = super().form(*args, **kwargs), self.doubted
        period = ("from_day", "to_day") if doubted and doubted.about in IN_A_PERIOD else ()
        form.fields = [each for each in form.fields if each.name in ("why", *period)]
        for control in form.fields:
            control.required = True  # one shape serves every subject, so it cannot say so itself
        if doubted:
            uid = getattr(doubted, doubted.about).uid
            form.hidden.append({"name": doubted.about, "value": uid})
            form.keep = f"{self.request.path}?{doubted.about}={uid}"
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("doubt", args=[actions.raise_doubt(by=self.by, **data).uid])


class AnswerFor(FormPage):
    takes, title, room, button = AnswerIn, "Answer the doubt", "office", "Answer it"

    @cached_property
    def standing(self) -> Standing:
        rows = standings(Affected.objects.filter(uid=self.kwargs["uid"]))
        if not rows:
            raise Http404
        return rows[0]

    def back(self) -> str:
        return reverse("doubt", args=[self.standing.affected.doubt.uid])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"became": [(each.value, SAID[each]) for each in self.standing.choices]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, row = super().form(*args, **kwargs), self.standing
        where = "It is here." if row.here else f"It is gone: call {row.job.item.owner.name} first."
        form.note = f"Job {row.job.number}, {row.job.item.title}, {row.job.item.marks}. {where}"
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.answer(by=self.by, affected=self.standing.affected, **data)
        return self.back()


class Close(FormPage):
    takes, title, room, button = CloseIn, "Answer the doubt", "office", "Answer it"
    lead = "It touched no job; once it is answered nobody is stopped by it any longer."

    def back(self) -> str:
        return reverse("doubt", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.close_doubt(by=self.by, doubt=get_object_or_404(Doubt, uid=self.kwargs["uid"]), **data)
        return self.back()


urlpatterns = [
    path("office/doubts", Doubts.as_view(), name="doubts"),
    path("office/doubts/new", NewDoubt.as_view(), name="new_doubt"),
    path("office/doubts/<uuid:uid>", OneDoubt.as_view(), name="doubt"),
    path("office/doubts/<uuid:uid>/answer", Close.as_view(), name="close_doubt"),
    path("office/affected/<uuid:uid>/answer", AnswerFor.as_view(), name="answer_doubt"),
]
