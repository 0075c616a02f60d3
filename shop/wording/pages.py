"""The Office's pages of what letters say."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.staff.pages import History
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.wording import actions
from shop.wording.reads import Told, named, one_wording, sample, typed, wordings
from shop.wording.rules import NEEDED, PLACES, Key, Wording, refusals
from shop.wording.shapes import WordingIn
from shop.workshop.rules import Language


class Wordings(Page):
    template, room = "wording/table.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        told = wordings()
        rows = [(key, [each for each in told if each.key is key]) for key in Key]
        return {"rows": rows, "languages": [each.label for each in Language]}


class WordingPage(FormPage):
    """A page about one letter in one language."""

    room, cancel = "office", "wordings"

    def told(self) -> Told:
        return one_wording(*named(self.kwargs["which"]))

    def seen(self) -> int:
        return self.told().version

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        told = self.told()
        title = f"{self.title}: {told.key}, {told.language.label}"
        return super().show(status, template, **more | {"told": told, "title": title})


class ChangeWording(WordingPage):
    takes, title, template, button = WordingIn, "What a letter says", "wording/change.html", "Save"

    def about(self) -> str:
        told = self.told()
        may, must = (
            ", ".join(f"{{{each}}}" for each in names) for names in (PLACES[told.key], NEEDED[told.key])
        )
        return f"{told.key.what} Places that are filled: {may}. In the text must stand {must}."

    def start(self) -> Mapping[str, Any]:
        said = typed(self.told())
        return {"subject": said.subject, "text": said.text}

    def form(self, *given: Any, **more: Any) -> Form:
        form = super().form(*given, **more)
        form.look = "Look at it first"
        return form

    def context(self, **kwargs: Any) -> dict[str, Any]:
        told = self.told()
        return {"worded": sample(told, told.wording), "may_keep": self.by.may(Can.KEEP_PLANS)}

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        """Save it; or only look, which changes nothing."""
        shape = self.takes(data=request.POST)
        if "look" not in request.POST or not shape.is_valid():
            return super().post(request, **kwargs)
        told, said = self.told(), Wording(**shape.validated_data)
        if found := refusals(told.key, said.subject, said.text):
            return self.again(409, found)
        form = self.form(request.POST)
        return self.show(form=form, worded=sample(told, said), looked=True, title=self.title, lead=self.lead)

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        key, language = named(self.kwargs["which"])
        told = actions.word(by=self.by, key=key, language=language, seen=seen or 0, **data)
        return reverse("wording", args=[told.which])


class ShippedWording(WordingPage):
    takes, title, button = Nothing, "Back to the shipped words", "Use the shipped words"
    lead = "Your own words go out no more; the history keeps them."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        key, language = named(self.kwargs["which"])
        told = actions.use_shipped(by=self.by, key=key, language=language, seen=seen or 0)
        return reverse("wording", args=[told.which])


class WordingHistory(History):
    room = "office"

    def subjects(self) -> list[str]:
        named(self.kwargs["which"])
        return [f"wording:{self.kwargs['which']}"]

    def of(self) -> tuple[str, str]:
        key, language = named(self.kwargs["which"])
        return f"{key}, {language.label}", reverse("wording", args=[self.kwargs["which"]])


urlpatterns = [
    path("office/wordings", Wordings.as_view(), name="wordings"),
    path("office/wordings/<slug:which>", ChangeWording.as_view(), name="wording"),
    path("office/wordings/<slug:which>/shipped", ShippedWording.as_view(), name="shipped_wording"),
    path("office/wordings/<slug:which>/history", WordingHistory.as_view(), name="wording_history"),
]
