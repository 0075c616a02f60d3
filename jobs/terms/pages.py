"""The page to write the workshop's terms, and the one on which somebody accepts them."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils.functional import cached_property

from jobs.flow.models import DropOff
from jobs.terms import actions
from jobs.terms.models import Terms
from jobs.terms.reads import asked, newest
from jobs.terms.shapes import AcceptIn, OwnTermsIn
from shop.paper.rules import moment
from shop.web.pages import FormPage
from shop.web.shapes import Form
from shop.workshop.reads import zone


class WriteTerms(FormPage):
    takes, title, room, button, cancel = OwnTermsIn, "Terms", "office", "Keep them", "office"
    lead = "Whoever leaves gear accepts them on screen or on paper, and the ticket prints them. What was accepted stays as it was."

    @cached_property
    def row(self) -> Terms | None:
        """The newest version; its words may be empty."""
        return newest()

    def start(self) -> Mapping[str, Any]:
        return {"text": self.row.text if self.row else ""}

    def about(self) -> str:
        if not self.row or not self.row.text:
            return ""
        return f"Version {self.row.n}, kept {moment(self.row.at, zone())}, is the one that counts."

    def seen(self) -> int:
        return self.row.n if self.row else 0

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.write_terms(by=self.by, seen=seen or 0, **data)
        return self.back()


class AcceptTerms(FormPage):
    template = "terms/accept.html"
    takes, title, room, button = AcceptIn, "Terms", "counter", "They are accepted"

    def drop_off(self) -> DropOff:
        return get_object_or_404(DropOff, uid=self.kwargs["uid"])

    def context(self, **kwargs: Any) -> dict[str, Any]:
        return {"terms": asked(), "drop_off": self.drop_off()}

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    def form(self, *args: Any, **kwargs: Any) -> Form:
        """Which version is shown goes along unseen."""
        form, row = super().form(*args, **kwargs), asked()
        form.fields = [control for control in form.fields if control.name != "terms"]
        form.hidden.append({"name": "terms", "value": row.n if row else 0})
        form.keep = ""  # the next customer types their own name
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.accept_terms(by=self.by, drop_off=self.drop_off(), **data)
        return self.back()


urlpatterns = [
    path("office/terms", WriteTerms.as_view(), name="terms"),
    path("drop-offs/<uuid:uid>/terms", AcceptTerms.as_view(), name="accept_terms"),
]
