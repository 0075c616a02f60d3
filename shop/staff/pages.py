"""Sign in and out; the Office's page of people; one's own tokens."""

from collections.abc import Mapping
from typing import Any

from django.contrib.auth import views
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.staff import actions
from shop.staff.models import Authorisation, Person, Token
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import AuthorisationIn, EndAuthorisationIn, PersonIn, RolesIn, SignInIn, TokenIn
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form, controls
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal


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
        people = Person.objects.prefetch_related("roles", "authorisations__under").order_by("name")
        return {"people": people, "day": today(), "may_keep": self.by.may(Can.KEEP_PEOPLE)}


class NewPerson(FormPage):
    takes, title, room, button, cancel = PersonIn, "Somebody new", "office", "Take on", "people"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_person(by=self.by, **data)
        return reverse("people")


class OnePerson(Page):
    """A person: roles, authorisations, and what a lead may change of them."""

    template, room = "staff/person.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        person = get_object_or_404(Person, uid=kwargs["uid"])
        rows = person.authorisations.select_related("under").order_by("pk")
        may_keep = self.by.may(Can.KEEP_PEOPLE)
        return {"person": person, "authorisations": rows, "day": today(), "may_keep": may_keep}


class ForPerson(FormPage):
    """A form about the person in the address."""

    room = "office"

    def person(self) -> Person:
        return get_object_or_404(Person, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("person", args=[self.kwargs["uid"]])

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        return super().show(status, template, **(more | {"title": f"{self.title}: {self.person().name}"}))


class NewAuthorisation(ForPerson):
    takes, title, button = AuthorisationIn, "Authorise", "Authorise"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        people = Person.objects.filter(is_active=True).exclude(uid=self.kwargs["uid"]).order_by("name")
        return {"under": [(person.uid, person.name) for person in people]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.authorise(by=self.by, person=self.person(), **data)
        return self.back()


class EndAuthorisation(FormPage):
    takes, title, room, button = EndAuthorisationIn, "End this authorisation", "office", "End it"

    def authorisation(self) -> Authorisation:
        rows = Authorisation.objects.select_related("person")
        return get_object_or_404(rows, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("person", args=[self.authorisation().person.uid])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.end_authorisation(by=self.by, authorisation=self.authorisation(), **data)
        return self.back()


class ChangePerson(ForPerson):
    """A form that changes the person; what was seen goes with it."""

    def seen(self) -> int:
        return self.person().version


class ChangeRoles(ChangePerson):
    takes, title, button = RolesIn, "Roles", "Give these roles"

    def start(self) -> Mapping[str, Any]:
        return {"roles": self.person().role_list}

    def tell_present(self, form: Form) -> None:
        form.fields[0].help = f"In the record now: {self.person().role_names}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_roles(by=self.by, person=self.person(), seen=seen or 0, **data)
        return self.back()


class Deactivate(ChangePerson):
    takes, title, button = Nothing, "Somebody leaves", "They no longer work here"
    lead = (
        "Every session and every token of theirs ends at once and for good. What they did and signed stays."
    )

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.deactivate(by=self.by, person=self.person(), seen=seen or 0)
        return self.back()


class Reactivate(ChangePerson):
    takes, title, button = Nothing, "Somebody comes back", "They work here again"
    lead = "They sign in anew, in the roles they had; tokens that ended stay ended."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.reactivate(by=self.by, person=self.person(), seen=seen or 0)
        return self.back()


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
    path("office/people/<uuid:uid>", OnePerson.as_view(), name="person"),
    path("office/people/<uuid:uid>/roles", ChangeRoles.as_view(), name="change_roles"),
    path("office/people/<uuid:uid>/deactivate", Deactivate.as_view(), name="deactivate"),
    path("office/people/<uuid:uid>/reactivate", Reactivate.as_view(), name="reactivate"),
    path("office/authorisations/<uuid:uid>/end", EndAuthorisation.as_view(), name="end_authorisation"),
    path("office/people/<uuid:uid>/authorise", NewAuthorisation.as_view(), name="authorise"),
    path("tokens", Tokens.as_view(), name="tokens"),
    path("tokens/<uuid:uid>/end", EndToken.as_view(), name="end_token"),
]
