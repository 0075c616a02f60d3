"""The API's doors to the wording of letters."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.journal.reads import history
from shop.staff.api import History
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import HistoryOut
from shop.wording import actions
from shop.wording.reads import Told, named, one_wording, sample, wordings
from shop.wording.rules import Worded, Wording, refusals
from shop.wording.shapes import WordedOut, WordingIn, WordingOut, WordingsOut
from shop.workshop.rules import refuse


class Wordings(Door):
    @reads(WordingsOut)
    def get(self, request: Request) -> Any:
        """Each letter in each language, as it stands."""
        require(self.by, Can.SEE)
        return {"wordings": wordings()}


class OneWording(Door):
    @reads(WordingOut)
    def get(self, request: Request, which: str) -> Told:
        """One letter in one language, such as reminder-de."""
        require(self.by, Can.SEE)
        return one_wording(*named(which))

    @verb(WordingIn, WordingOut, seen=True)
    def put(self, request: Request, which: str, data: Any, seen: int) -> Told:
        """Give it the workshop's own words."""
        key, language = named(which)
        return actions.word(by=self.by, key=key, language=language, seen=seen, **data)


class ShippedWording(Door):
    @verb(Nothing, WordingOut, seen=True)
    def post(self, request: Request, which: str, data: Any, seen: int) -> Told:
        """Go back to the words that come with the house."""
        key, language = named(which)
        return actions.use_shipped(by=self.by, key=key, language=language, seen=seen)


class PreviewWording(Door):
    @verb(WordingIn, WordedOut)
    def post(self, request: Request, which: str, data: Any) -> Worded:
        """Words that were not saved, filled with invented values; nothing is changed."""
        require(self.by, Can.SEE)
        told = one_wording(*named(which))
        refuse(refusals(told.key, data["subject"], data["text"]))
        return sample(told, Wording(**data))


class WordingHistory(History):
    @reads(HistoryOut, many=True)
    def get(self, request: Request, which: str) -> Any:
        """The words it had before, newest first."""
        require(self.by, Can.SEE)
        named(which)
        return history([f"wording:{which}"])


urlpatterns = [
    path("all-wordings", Wordings.as_view(), name="wordings"),
    path("wordings/<slug:which>", OneWording.as_view(), name="wording"),
    path("wordings/<slug:which>/shipped", ShippedWording.as_view(), name="shipped_wording"),
    path("wordings/<slug:which>/preview", PreviewWording.as_view(), name="preview_wording"),
    path("wordings/<slug:which>/history", WordingHistory.as_view(), name="wording_history"),
]
