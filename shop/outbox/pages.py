"""The Office's pages of letters: the outbox, one letter, the addresses that nothing goes to."""

from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from functools import cached_property
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.outbox import actions
from shop.outbox.reads import counts, letters, owners, suppressed
from shop.outbox.rules import Shows, again_refusals, stop_refusals
from shop.outbox.shapes import LettersIn, SuppressIn
from shop.post.models import Letter, Suppressed
from shop.post.rules import Purpose, State, without_secrets
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page

A_PAGE = 100


class Letters(Page):
    template, room = "outbox/letters.html", "office"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        """One page by a filter, from a place on; what cannot be read of them shows all from the newest."""
        require(self.by, Can.SEE_LETTERS)
        shape = LettersIn(data={k: v for k, v in request.GET.items() if k == "shows"})
        shows = Shows(shape.validated_data["shows"]) if shape.is_valid() else Shows.ALL
        rows, after = letters(shows), request.GET.get("after", "")
        if after.isdecimal() and len(after) < 19:
            rows = rows.filter(pk__lt=int(after))
        found = list(rows.order_by("-pk")[: A_PAGE + 1])
        return self.show(
            status=400 if shape.errors else 200,
            to_files=settings.SMTP is None,
            letters=found[:A_PAGE],
            older=found[A_PAGE - 1].pk if len(found) > A_PAGE else None,
            shows=shows,
            filters=counts().items(),
            suppressed=suppressed().count(),
        )


class OneLetter(Page):
    template, room = "outbox/letter.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE_LETTERS)
        row = get_object_or_404(Letter, uid=kwargs["uid"])
        message = message_from_bytes(bytes(row.body), EmailMessage, policy=default)
        shown = row.purpose != Purpose.SIGN_IN  # its link lets whoever reads it in
        body = message.get_body(("plain",))  # an order has files beside its text
        text = (
            without_secrets(body.get_content())
            if shown and body
            else "Only its reader is shown the text of a sign-in letter."
        )
        state, keeps = State(row.state), self.by.may(Can.KEEP_LETTERS)
        return {
            "letter": row,
            "text": text,
            "to": message["To"],
            "to_files": settings.SMTP is None,
            "may_stop": keeps and not stop_refusals(state),
            "may_send": keeps and not again_refusals(state, gone=False),
        }


class OfLetter(FormPage):
    """The base of the forms about a letter."""

    takes, room = Nothing, "office"

    @cached_property
    def letter(self) -> Letter:
        return get_object_or_404(Letter.objects.defer("body"), uid=self.kwargs["uid"])

    def about(self) -> str:
        require(self.by, Can.SEE_LETTERS)
        return f"“{self.letter.subject}” to {self.letter.address}: {self.letter.state}."

    def back(self) -> str:
        return reverse("letter", args=[self.letter.uid])


class StopLetter(OfLetter):
    title, button = "Stop a letter", "Do not send it"
    lead = "It stays in the outbox and does not go by itself any more."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.stop_letter(by=self.by, letter=self.letter)
        return self.back()


class SendAgain(OfLetter):
    title, button = "Send a letter again", "Send it again"
    lead = (
        "The same letter goes once more. If its first copy did arrive after all, it arrives twice; many mail "
        "programs show only one of two alike."
    )

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.send_again(by=self.by, letter=self.letter)
        return self.back()


class Unreached(Page):
    template, room = "outbox/suppressed.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE_LETTERS)
        rows, after = suppressed(), self.request.GET.get("after", "")
        if after.isdecimal() and len(after) < 19:
            rows = rows.filter(pk__lt=int(after))
        found = list(rows.order_by("-pk")[: A_PAGE + 1])
        older = found[A_PAGE - 1].pk if len(found) > A_PAGE else None
        return {"rows": owners(found[:A_PAGE]), "older": older, "may_keep": self.by.may(Can.KEEP_LETTERS)}


class Suppress(FormPage):
    takes, title, room, button, cancel = (
        SuppressIn,
        "Suppress an address",
        "office",
        "Suppress it",
        "unreached",
    )
    lead = "No letter goes to it, of whatever purpose: safety notices too. Whoever has it must be telephoned."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.suppress_address(by=self.by, **data)
        return reverse("unreached")


class Lift(FormPage):
    takes, title, room, button, cancel = (
        Nothing,
        "Write to an address again",
        "office",
        "Lift it",
        "unreached",
    )
    lead = (
        "Letters that were kept back stay so: send each again from its own page where it still makes sense."
    )

    @cached_property
    def row(self) -> Suppressed:
        return get_object_or_404(Suppressed, uid=self.kwargs["uid"])

    def about(self) -> str:
        require(self.by, Can.SEE_LETTERS)
        return f"{self.row.address}: {self.row.why}"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.lift_address(by=self.by, suppressed=self.row)
        return reverse("unreached")


urlpatterns = [
    path("office/letters", Letters.as_view(), name="letters"),
    path("office/letters/<uuid:uid>", OneLetter.as_view(), name="letter"),
    path("office/letters/<uuid:uid>/stop", StopLetter.as_view(), name="stop_letter"),
    path("office/letters/<uuid:uid>/send-again", SendAgain.as_view(), name="send_again"),
    path("office/suppressed", Unreached.as_view(), name="unreached"),
    path("office/suppressed/new", Suppress.as_view(), name="suppress"),
    path("office/suppressed/<uuid:uid>/lift", Lift.as_view(), name="lift_address"),
]
