"""The front door, and the page about yourself: your words, sessions, tokens."""

from collections.abc import Callable, Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.signin.actions import keep_session
from shop.signin.reads import has_second_factor, recovery_codes_left
from shop.staff import actions
from shop.staff.models import Token
from shop.staff.reads import require, watch_wrong_tries
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.reads import now, today
from shop.workshop.rules import Refused
from shop.you.reads import own_sessions
from shop.you.shapes import PasswordIn, SigningSecretIn, TokenIn


class Front(Page):
    """The front door leads to the room where somebody works."""

    needs = ""

    def get(self, request: Any, **kwargs: Any) -> HttpResponse:
        roles = self.by.role_list
        rooms = {"counter": "counter", "technician": "bench", "inspector": "bench", "storekeeper": "store"}
        return HttpResponseRedirect(reverse(rooms.get(roles[0], "office") if roles else "office"))


class You(Page):
    """What is kept of yourself, and what lets you in."""

    template, needs = "you/you.html", ""

    def context(self, **kwargs: Any) -> dict[str, Any]:
        return {
            "authorisations": self.by.authorisations.select_related("under").order_by("pk"),
            "day": today(),
            "second_factor": has_second_factor(self.by),
            "codes_left": recovery_codes_left(self.by),
            "sessions": own_sessions(self.by, self.request.session.session_key),
        }


class Own(FormPage):
    """A form that changes what lets you in."""

    cancel = "you"


class ChangePassword(Own):
    takes, title, button = PasswordIn, "Change your password", "Change it"
    lead = "Every session of yours ends but this one."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        keep_session(request=self.request, person=actions.change_password(by=self.by, **data))
        return self.back()


class ChangeSigningSecret(Own):
    takes, title, button = SigningSecretIn, "Change your signing secret", "Change it"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_signing_secret(by=self.by, **data)
        return self.back()


class EndSessions(Own):
    takes, title, button = Nothing, "End your other sessions", "End them"
    lead = "Every other browser that is signed in as you is signed out at its next request; this one stays."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        keep_session(request=self.request, person=actions.end_sessions(by=self.by))
        return self.back()


class Tokens(FormPage):
    """One's own tokens; the secret of a new one is shown on the answer to the form and never again."""

    template, takes, title, room, button = (
        "you/tokens.html",
        TokenIn,
        "Your tokens",
        "office",
        "Make a token",
    )

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"scopes": [(right.value, right.value) for right in Can if right in self.by.rights]}

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.KEEP_OWN_TOKENS)
        return {"tokens": Token.objects.filter(user=self.by).order_by("-created"), "at": now()}

    def post(self, request: Any, **kwargs: Any) -> HttpResponse:
        shape = TokenIn(data=request.POST)
        if not shape.is_valid():
            return self.again(400, [], shape.errors)
        try:
            _, secret = actions.make_token(by=self.by, **shape.validated_data)
        except Refused as refused:
            return self.again(409, refused.refusals)
        return self.show(form=self.form(), title=self.title, secret=secret)


class EndToken(FormPage):
    takes, title, room, button, cancel = Nothing, "End this token", "office", "End it", "tokens"
    lead = "Whatever uses it is refused from its next request on."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        token = get_object_or_404(Token, uid=self.kwargs["uid"], user=self.by)
        actions.end_token(by=self.by, token=token)
        return reverse("tokens")


class Tries:
    """Middleware: counts what was typed wrongly once the request is over, when no refusal can roll it back."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with watch_wrong_tries() as people:
            response = self.get_response(request)
        if people:
            actions.count_wrong_tries(people)
        return response


# An address that the sign-in library looks up by a name of its own stands here under both names.
urlpatterns = [
    path("", Front.as_view(), name="front"),
    path("you", You.as_view(), name="you"),
    path("you", You.as_view(), name="mfa_index"),
    path("you/password", ChangePassword.as_view(), name="change_password"),
    path("you/signing-secret", ChangeSigningSecret.as_view(), name="change_signing_secret"),
    path("you/sessions/end", EndSessions.as_view(), name="end_sessions"),
    path("tokens", Tokens.as_view(), name="tokens"),
    path("tokens/<uuid:uid>/end", EndToken.as_view(), name="end_token"),
]
