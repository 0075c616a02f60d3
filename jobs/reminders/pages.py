"""The Office's pages of what goes next, of when letters go, and on which days."""

from collections.abc import Mapping
from typing import Any

from django.urls import path, reverse

from jobs.reminders import actions
from jobs.reminders.reads import LadderTold, ahead, brought, every_ladder, ladder_of
from jobs.reminders.rules import days_in_words
from jobs.reminders.shapes import LadderIn, LetterTimesIn, LetterTimesOut, RungsField
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.models import Workshop


class NextLetters(Page):
    """What goes next, and what letters brought."""

    template, room = "reminders/next.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE_LETTERS)
        rows = [{**row, "words": days_in_words([row["rung"]])} for row in brought()]
        return {"ahead": ahead(), "brought": rows}


class LetterTimes(FormPage):
    takes, title, room, button, cancel = (
        LetterTimesIn,
        "When letters go out",
        "office",
        "Save",
        "next_letters",
    )
    lead = "Reminders are written on open days only, within these hours of your own zone. Letters on safety wait for nothing."

    def start(self) -> Mapping[str, Any]:
        return LetterTimesOut(Workshop.objects.get()).data | {
            "closed_days": "\n".join(Workshop.objects.get().closed_days)
        }

    def seen(self) -> int:
        return Workshop.objects.get().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_times(by=self.by, seen=seen or 0, **data)
        return reverse("next_letters")


class Ladders(Page):
    template, room = "reminders/ladders.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"ladders": [(each, days_in_words(each.rungs)) for each in every_ladder()]} | {
            "may_keep": self.by.may(Can.KEEP_PLANS)
        }


class ChangeLadder(FormPage):
    takes, title, room, button, cancel = LadderIn, "Days of letters", "office", "Save", "ladders"
    lead = "One letter for each of these days. After days without post only the newest one that was reached is written."

    def ladder(self) -> LadderTold:
        return ladder_of(self.kwargs["clock"])

    def about(self) -> str:
        told = self.ladder()
        return f"{told.title}. Now: {days_in_words(told.rungs)}."

    def start(self) -> Mapping[str, Any]:
        told = self.ladder()
        return {"rungs": RungsField().to_representation(told.rungs) if told.own else ""}

    def seen(self) -> int:
        return self.ladder().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_ladder(by=self.by, clock=self.ladder().clock, seen=seen or 0, **data)
        return reverse("ladders")


urlpatterns = [
    path("office/letters/next", NextLetters.as_view(), name="next_letters"),
    path("office/letters/times", LetterTimes.as_view(), name="letter_times"),
    path("office/letters/ladders", Ladders.as_view(), name="ladders"),
    path("office/letters/ladders/<slug:clock>", ChangeLadder.as_view(), name="ladder"),
]
