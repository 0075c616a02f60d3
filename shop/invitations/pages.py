"""Invite somebody; a forgotten password; where the link of a letter leads."""

import time
from typing import Any

from allauth.core.ratelimit import consume_or_429
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.urls import path, reverse
from django.views import View

from shop.invitations import actions, shapes
from shop.invitations.reads import holder
from shop.invitations.rules import LEAST_S
from shop.staff.pages import ForPerson
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form


class Open(FormPage):
    """A form for whoever is not signed in: no key makes a repeat harmless, the link itself works once."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        return View.dispatch(self, request, *args, **kwargs)

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.hidden, form.keep = [], ""
        return form

    def _done(self, request: HttpRequest, data: dict[str, Any]) -> str:
        return self.act(data, None)


class Forgotten(Open):
    takes, title, button, cancel = shapes.ForgottenIn, "Forgotten password", "Write to me", "sign_in"
    lead = "Type the address you sign in with: if it is one of ours, a letter with a link goes there."

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        key = request.POST.get("email", "").strip().lower()[:254]
        limited = consume_or_429(request, action="reset_password", key=key.encode(errors="replace").decode())
        return limited or super().post(request, **kwargs)

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        began = time.monotonic()
        actions.forgotten(**data)
        time.sleep(max(0, LEAST_S - (time.monotonic() - began)))
        return reverse("letter_written")


class LetterWritten(Page):
    template, needs = "invitations/written.html", ""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        return View.dispatch(self, request, *args, **kwargs)


class Choose(Open):
    """Where the link of a letter leads: who is invited chooses both, who forgot the password that alone."""

    takes, title, button, cancel = shapes.ChooseIn, "Choose your password", "Keep it", "sign_in"

    @property
    def key(self) -> str:
        return self.request.POST.get("key") or self.request.GET.get("key", "")

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        person = holder(self.key)
        if person is None:
            return self.show(template="invitations/dead.html")
        return self.show(form=self.form(), title=self.title, lead=f"You sign in as {person.email}.")

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        self.invited()
        return super().post(request, **kwargs)

    def invited(self) -> None:
        person = holder(self.key)
        if person is not None and not person.has_usable_password():
            self.takes = shapes.ChooseBothIn

    def form(self, *args: Any, **kwargs: Any) -> Form:
        self.invited()
        form = super().form(*args, **kwargs)
        form.hidden = [{"name": "key", "value": self.key}]
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.choose(key=self.key, **data)
        return reverse("sign_in")


class Invite(FormPage):
    takes, title, room, button, cancel = shapes.InviteIn, "Invite somebody", "office", "Invite", "people"
    lead = "A letter goes to them with a link, with which they choose their password and signing secret."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("person", args=[actions.invite(by=self.by, **data).uid])


class InviteAgain(ForPerson):
    title, button = "Invite again", "Write once more"
    lead = "The link in the letter before no longer works."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.invite_again(by=self.by, person=self.person())
        return self.back()


urlpatterns = [
    path("forgotten-password", Forgotten.as_view(), name="forgotten"),
    path("forgotten-password/written", LetterWritten.as_view(), name="letter_written"),
    path("choose-password", Choose.as_view(), name="choose_password"),
    path("office/people/invite", Invite.as_view(), name="invite"),
    path("office/people/<uuid:uid>/invite", InviteAgain.as_view(), name="invite_again"),
]
