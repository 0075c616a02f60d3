"""A clock and what asks for it, what others did, counts; what is decided about rules, with the dates that would move."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.clocks import actions
from shop.clocks.api import clocks
from shop.clocks.models import Clock
from shop.clocks.reads import explained, moves, stands
from shop.clocks.rules import Decision
from shop.clocks.shapes import ElsewhereIn, TallyIn
from shop.files.reads import documents, shown
from shop.gear.models import Item
from shop.intervals.models import Interval
from shop.intervals.pages import OfInterval
from shop.intervals.reads import in_force
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.reads import today


class OneClock(Page):
    template, room = "clocks/clock.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = clocks().select_related("item__model", "item__owner", "item__merged_into")
        clock: Clock = get_object_or_404(rows, uid=kwargs["uid"])
        restarts = list(clock.restarts.select_related("taken_back").order_by("-pk"))
        causes = [row.cause for row in restarts if row.elsewhere]
        return {
            "clock": clock,
            "state": stands(clock),
            "asked": explained(clock),
            "restarts": restarts,
            "photographs": shown(causes),
            "documents": documents(causes),
            "may_keep": self.by.may(Can.KEEP_GEAR) and clock.item.merged_into is None,
            "others": any(row.elsewhere and not hasattr(row, "taken_back") for row in restarts),
            "day": today(),
        }


class OfClock(FormPage):
    """A form about one clock."""

    room = "counter"

    def clock(self) -> Clock:
        rows = Clock.objects.select_related("item__model")
        return get_object_or_404(rows, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("clock", args=[self.kwargs["uid"]])

    def about(self) -> str:
        clock = self.clock()
        return f"{clock.title} of {clock.item.label}, {clock.item.title}."


class Elsewhere(OfClock):
    takes, title, button = ElsewhereIn, "Done elsewhere", "Let it run from that day"
    lead = "The proof is kept with your name and the time. What others did is not checked here."

    def form(self, *given: Any, **more: Any) -> Form:
        form = super().form(*given, **more)
        for control in form.fields:
            if control.kind == "file":
                control.may = "one of the two"
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.done_elsewhere(by=self.by, clock=self.clock(), **data)
        return self.back()


class TakeBackElsewhere(OfClock):
    takes, title, button = Nothing, "Take back what others did", "Take it back"
    lead = "The newest entry stops counting; entry and proof stay on record."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_back_elsewhere(by=self.by, clock=self.clock())
        return self.back()


class NewTally(FormPage):
    takes, title, room, button = TallyIn, "Count dives or hours", "counter", "Write it down"
    lead = "Clocks that go by dives or hours take it from here. Of one day the newest entry counts."

    def item(self) -> Item:
        return get_object_or_404(Item.objects.select_related("model"), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("item", args=[self.kwargs["uid"]])

    def about(self) -> str:
        item = self.item()
        return f"{item.label}, {item.title}."

    def start(self) -> Mapping[str, Any]:
        return {"unit": "dives", "day": today().isoformat()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.tally(by=self.by, item=self.item(), **data)
        return self.back()


def beside(row: Interval, what: str) -> list[Interval]:
    """The other rules of a place that is followed, or followed no more, for which this is decided too."""
    if what not in (Decision.FOLLOW, Decision.LEAVE):
        return []
    return [each for each in in_force([row.place]) if each.place == row.place and each.pk != row.pk]


class Decide(OfInterval, FormPage):
    """What is decided about a rule, with the dates that would move by it."""

    takes, room, cancel, template = Nothing, "office", "intervals", "clocks/decide.html"
    what = Decision.FORCE

    def seen(self) -> int:
        return self.interval().version

    def context(self, **kwargs: Any) -> dict[str, Any]:
        row = self.interval()
        return {"row": row, "beside": beside(row, self.what), "moves": moves(row, self.what), "day": today()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.decide(by=self.by, interval=self.interval(), what=self.what, seen=seen or 0)
        return reverse("intervals")


class Force(Decide):
    what, title, button = Decision.FORCE, "Put a rule in force", "Put it in force"


class Withdraw(Decide):
    what, title, button = Decision.WITHDRAW, "Withdraw a rule", "Withdraw it"


class Follow(Decide):
    what, title, button = Decision.FOLLOW, "Follow a place", "Follow it"


class Leave(Decide):
    what, title, button = Decision.LEAVE, "Follow a place no more", "Follow it no more"


urlpatterns = [
    path("clocks/<uuid:uid>", OneClock.as_view(), name="clock"),
    path("clocks/<uuid:uid>/elsewhere", Elsewhere.as_view(), name="elsewhere"),
    path("clocks/<uuid:uid>/elsewhere/take-back", TakeBackElsewhere.as_view(), name="take_back_elsewhere"),
    path("items/<uuid:uid>/tallies/new", NewTally.as_view(), name="new_tally"),
    path("office/intervals/<uuid:uid>/force", Force.as_view(), name="force_interval"),
    path("office/intervals/<uuid:uid>/withdraw", Withdraw.as_view(), name="withdraw_interval"),
    path("office/intervals/<uuid:uid>/follow", Follow.as_view(), name="follow_place"),
    path("office/intervals/<uuid:uid>/leave", Leave.as_view(), name="leave_place"),
]
