"""Sign in and out; the Office's page of people; one's own tokens."""

import re
from typing import Any

from django.contrib.auth import views
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.journal.reads import history, told
from shop.staff import actions
from shop.staff.models import Person, Token
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import AuthorisationIn, PersonIn, SignInIn, TokenIn
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form, controls
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal


class History(Page):
    """The base of the pages of everything that was journalled about a row, newest first."""

    template, room, slice = "staff/history.html", "counter", 50

    def subjects(self) -> list[str]:
        """The chains that are shown."""
        raise NotImplementedError

    def of(self) -> tuple[str, str]:
        """What it is the history of, and the address of its page."""
        raise NotImplementedError

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows, before = history(self.subjects()).order_by("-pk"), self.request.GET.get("before", "")
        if re.fullmatch(r"[0-9]{1,18}", before):
            rows = rows.filter(pk__lt=int(before))
        found = list(rows[: self.slice + 1])
        shown = found[: self.slice]
        older = shown[-1].pk if len(found) > self.slice else None
        return {"of": self.of(), "entries": told(shown), "older": older, "later": bool(before)}


class SignIn(views.LoginView):
    """The library's sign-in, drawn with our form."""

    template_name = "web/sign_in.html"
    redirect_authenticated_user = True
    http_method_names = ["get", "head", "options", "post"]

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        sent = {"username": self.request.POST.get("username", "")}
        hidden = [{"name": "next", "value": self.get_redirect_url()}]
        form = Form(self.request.path, "Sign in", controls(SignInIn, sent=sent), hidden)
        wrong = [Refusal("wrong-sign-in", "The address and the password do not belong together.")]
        refusals = wrong if context["form"].errors else []
        return context | {"form": form, "refusals": refusals}

    def form_invalid(self, form: Any) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=400)


class Front(Page):
    """The front door leads to the room where somebody works."""

    needs = ""

    def get(self, request: Any, **kwargs: Any) -> HttpResponse:
        roles = self.by.role_list
        rooms = {"counter": "counter", "technician": "bench", "inspector": "bench", "storekeeper": "store"}
        return HttpResponseRedirect(reverse(rooms.get(roles[0], "office") if roles else "office"))


class Office(Page):
    """The Office: where its pages are."""

    template, room = "staff/office.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"may_see_letters": self.by.may(Can.SEE_LETTERS)}


class People(Page):
    template = "staff/people.html"
    room = "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        people = Person.objects.prefetch_related("roles", "authorisations").order_by("name")
        return {"people": people, "day": today(), "may_keep": self.by.may(Can.KEEP_PEOPLE)}


class NewPerson(FormPage):
    takes, title, room, button, cancel = PersonIn, "Somebody new", "office", "Take on", "people"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_person(by=self.by, **data)
        return reverse("people")


class NewAuthorisation(FormPage):
    takes, title, room, button, cancel = AuthorisationIn, "Authorise", "office", "Authorise", "people"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.authorise(by=self.by, person=get_object_or_404(Person, uid=self.kwargs["uid"]), **data)
        return reverse("people")


class Tokens(FormPage):
    """One's own tokens; the secret of a new one is shown on the answer to the form and never again."""

    template, takes, title, room, button = (
        "staff/tokens.html",
        TokenIn,
        "Your tokens",
        "office",
        "Make a token",
    )

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.KEEP_OWN_TOKENS)
        return {"tokens": Token.objects.filter(user=self.by).order_by("-created"), "at": now()}

    def post(self, request: Any, **kwargs: Any) -> HttpResponse:
        shape = TokenIn(data=request.POST)
        if not shape.is_valid():
            return self.again(400, [], shape.errors)
        _, secret = actions.make_token(by=self.by, **shape.validated_data)
        return self.show(form=self.form(), title=self.title, secret=secret)


class EndToken(FormPage):
    takes, title, room, button, cancel = Nothing, "End this token", "office", "End it", "tokens"
    lead = "Whatever uses it is refused from its next request on."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        token = get_object_or_404(Token, uid=self.kwargs["uid"], user=self.by)
        actions.end_token(by=self.by, token=token)
        return reverse("tokens")


urlpatterns = [
    path("", Front.as_view(), name="front"),
    path("sign-in", SignIn.as_view(), name="sign_in"),
    path(
        "sign-out", views.LogoutView.as_view(next_page="sign_in", http_method_names=["post"]), name="sign_out"
    ),
    path("office", Office.as_view(), name="office"),
    path("office/people", People.as_view(), name="people"),
    path("office/people/new", NewPerson.as_view(), name="new_person"),
    path("office/people/<uuid:uid>/authorise", NewAuthorisation.as_view(), name="authorise"),
    path("tokens", Tokens.as_view(), name="tokens"),
    path("tokens/<uuid:uid>/end", EndToken.as_view(), name="end_token"),
]
