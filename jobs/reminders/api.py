"""The API's doors to when letters go, and to what they brought."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from jobs.reminders import actions
from jobs.reminders.reads import LadderTold, ahead, brought, every_ladder, ladder_of
from jobs.reminders.shapes import (
    AheadAndBrought,
    LadderIn,
    LadderOut,
    LaddersOut,
    LetterTimesIn,
    LetterTimesOut,
)
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.models import Workshop


class LettersAhead(Door):
    @reads(AheadAndBrought)
    def get(self, request: Request) -> Any:
        """What goes on the next letter day, and what the letters of a year brought."""
        require(self.by, Can.SEE_LETTERS)
        return {"ahead": ahead(), "brought": brought()}


class LetterTimes(Door):
    @reads(LetterTimesOut)
    def get(self, request: Request) -> Any:
        """When letters go out."""
        require(self.by, Can.SEE)
        return Workshop.objects.get()

    @verb(LetterTimesIn, LetterTimesOut, seen=True)
    def put(self, request: Request, data: Any, seen: int) -> Any:
        """Say when letters go out."""
        return actions.set_times(by=self.by, seen=seen, **data)


class Ladders(Door):
    @reads(LaddersOut)
    def get(self, request: Request) -> Any:
        """On which days letters about each kind of clock go."""
        require(self.by, Can.SEE)
        return {"ladders": every_ladder()}


class OneLadder(Door):
    @reads(LadderOut)
    def get(self, request: Request, clock: str) -> LadderTold:
        """The ladder of one kind of clock; any-clock is that of all others."""
        require(self.by, Can.SEE)
        return ladder_of(clock)

    @verb(LadderIn, LadderOut, seen=True)
    def put(self, request: Request, clock: str, data: Any, seen: int) -> LadderTold:
        """Change it; no days at all means as all others, or as shipped."""
        ladder_of(clock)
        actions.set_ladder(by=self.by, clock=clock, seen=seen, **data)
        return ladder_of(clock)


urlpatterns = [
    path("letters-ahead", LettersAhead.as_view(), name="letters_ahead"),
    path("letter-times", LetterTimes.as_view(), name="letter_times"),
    path("all-ladders", Ladders.as_view(), name="ladders"),
    path("ladders/<slug:clock>", OneLadder.as_view(), name="ladder"),
]
