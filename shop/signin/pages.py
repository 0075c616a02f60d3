"""Signing in, the second factor, invitations and links from letters: the library's views in our look."""

from collections.abc import Callable
from typing import Any

from allauth.account.views import LoginView
from allauth.account.views import ReauthenticateView as Reauthenticate
from allauth.core.ratelimit import consume_or_429
from allauth.mfa.base.views import AuthenticateView
from allauth.mfa.base.views import ReauthenticateView as ReauthenticateByCode
from allauth.mfa.recovery_codes.views import GenerateRecoveryCodesView, ViewRecoveryCodesView
from allauth.mfa.totp.internal.auth import get_totp_secret
from allauth.mfa.totp.views import ActivateTOTPView, DeactivateTOTPView
from django.contrib.auth.mixins import LoginRequiredMixin
from django.contrib.auth.views import LogoutView
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import path, reverse
from django.views import View

from shop.api.shapes import Nothing
from shop.signin import actions, shapes
from shop.signin.reads import has_second_factor, holder
from shop.staff.actions import count_wrong_tries
from shop.staff.models import Person
from shop.staff.pages import ForPerson
from shop.staff.reads import watch_wrong_tries
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form, controls
from shop.workshop.rules import Refusal

METHODS = ["get", "head", "options", "post"]


class Drawn:
    """A view of the sign-in library, drawn with our form from a shape; what is wrong is answered with 400."""

    template_name = "web/form_page.html"
    http_method_names = METHODS
    takes: Any = Nothing
    title, lead, button, cancel = "", "", "", "you"

    def dispatch(self: Any, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Refuse a foreign method before the library asks who somebody is."""
        if str(request.method).lower() not in METHODS:
            return View.http_method_not_allowed(self, request)
        if request.method == "POST" and "code" not in request.POST:  # the library takes it for another kind
            sent: Any = request.POST.copy()
            sent["code"] = ""
            request.POST = sent
        response: HttpResponseBase = super().dispatch(request, *args, **kwargs)  # type: ignore[misc]  # of the library
        return response

    def get_context_data(self: Any, **kwargs: Any) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context_data(**kwargs)  # type: ignore[misc]  # of the library
        theirs = context["form"]
        fields = controls(self.takes, sent=self.typed(), errors=theirs.errors)
        hidden = [{"name": "next", "value": context.get("redirect_field_value") or ""}]
        cancel = reverse(self.cancel) if self.cancel else ""
        form = Form(self.request.path, self.button, fields, hidden, cancel_url=cancel)
        refusals = [Refusal("wrong", str(each)) for each in theirs.non_field_errors()]
        return context | {"form": form, "refusals": refusals, "title": self.title, "lead": self.lead}

    def typed(self) -> dict[str, Any]:
        """What stays in the form when it is drawn again."""
        return {}

    def form_invalid(self: Any, form: Any) -> HttpResponse:
        page: HttpResponse = self.render_to_response(self.get_context_data(form=form), status=400)
        return page


class SignIn(Drawn, LoginView):  # type: ignore[misc]  # the library has no type information
    """Address and password; wrong tries are limited for an address and for a machine."""

    template_name = "web/sign_in.html"
    takes, button, cancel = shapes.SignInIn, "Sign in", ""

    def get_form_kwargs(self) -> dict[str, Any]:
        kwargs: dict[str, Any] = super().get_form_kwargs()
        if "data" in kwargs:
            sent = self.request.POST
            kwargs["data"] = {"login": sent.get("username", ""), "password": sent.get("password", "")}
        return kwargs

    def typed(self) -> dict[str, Any]:
        return {"username": self.request.POST.get("username", "")}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        if kwargs.get("form") is not None and kwargs["form"].is_bound:
            wrong = Refusal("wrong-sign-in", "The address and the password do not belong together.")
            many = Refusal("too-many-tries", "Too many wrong tries. Wait five minutes, then try again.")
            context["refusals"] = [many if self.too_many(kwargs["form"]) else wrong]
        return context

    def too_many(self, form: Any) -> bool:
        """Whether the library did not even look at the password."""
        return bool(form.has_error("__all__", "too_many_login_attempts"))

    def form_invalid(self, form: Any) -> HttpResponse:
        page = super().form_invalid(form)
        page.status_code = 429 if self.too_many(form) else 400
        return page


class Code(Drawn, AuthenticateView):  # type: ignore[misc]  # likewise
    takes, title, button, cancel = shapes.CodeIn, "Your second factor", "Sign in", "sign_in"


class Confirm(LoginRequiredMixin, Drawn, Reauthenticate):  # type: ignore[misc]  # likewise
    takes, title, button = shapes.ConfirmIn, "Is it still you?", "Go on"
    lead = "Before this is changed, type your password once more."


class ConfirmByCode(LoginRequiredMixin, Drawn, ReauthenticateByCode):  # type: ignore[misc]  # likewise
    takes, title, button = shapes.CodeIn, "Is it still you?", "Go on"
    lead = "Before this is changed, type a code once more."


class FactorOn(LoginRequiredMixin, Drawn, ActivateTOTPView):  # type: ignore[misc]  # likewise
    template_name = "signin/factor_on.html"
    takes, title, button = shapes.AppCodeIn, "A second factor", "Ask for it from now on"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs) | {"secret": get_totp_secret()}


class WithFactor(LoginRequiredMixin, Drawn):
    """A page for somebody who has a second factor; others are led to the page about themselves."""

    def dispatch(self: Any, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        here = request.method in ("GET", "HEAD", "POST") and request.user
        if isinstance(here, Person) and not has_second_factor(here):
            return redirect("you")
        return super().dispatch(request, *args, **kwargs)


class FactorOff(WithFactor, DeactivateTOTPView):  # type: ignore[misc]  # likewise
    title, button = "Without the second factor", "Ask for no code any more"
    lead = "Your password alone will sign you in, and the recovery codes go. A letter tells you of it."


class Codes(WithFactor, ViewRecoveryCodesView):  # type: ignore[misc]  # likewise
    template_name, http_method_names = "signin/codes.html", ["get", "head", "options"]

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context: dict[str, Any] = super(Drawn, self).get_context_data(**kwargs)
        return context


class NewCodes(WithFactor, GenerateRecoveryCodesView):  # type: ignore[misc]  # likewise
    title, button, cancel = "New recovery codes", "Make new ones", "mfa_view_recovery_codes"
    lead = "The codes you have now no longer work afterwards."


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
        actions.forgotten(**data)
        return reverse("letter_written")


class LetterWritten(Page):
    template, needs = "signin/written.html", ""

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
            return self.show(template="signin/dead.html")
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


class Tries:
    """Middleware: counts what was typed wrongly once the request is over, when no refusal can roll it back."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with watch_wrong_tries() as people:
            response = self.get_response(request)
        if people:
            count_wrong_tries(people)
        return response


# An address that the library looks up by a name of its own stands here under both names.
urlpatterns = [
    path("sign-in", SignIn.as_view(), name="sign_in"),
    path("sign-in", SignIn.as_view(), name="account_login"),
    path("sign-in/code", Code.as_view(), name="mfa_authenticate"),
    path("sign-out", LogoutView.as_view(next_page="sign_in", http_method_names=["post"]), name="sign_out"),
    path("forgotten-password", Forgotten.as_view(), name="forgotten"),
    path("forgotten-password/written", LetterWritten.as_view(), name="letter_written"),
    path("choose-password", Choose.as_view(), name="choose_password"),
    path("you/confirm", Confirm.as_view(), name="account_reauthenticate"),
    path("you/confirm/code", ConfirmByCode.as_view(), name="mfa_reauthenticate"),
    path("you/second-factor", FactorOn.as_view(), name="mfa_activate_totp"),
    path("you/second-factor/off", FactorOff.as_view(), name="mfa_deactivate_totp"),
    path("you/recovery-codes", Codes.as_view(), name="mfa_view_recovery_codes"),
    path("you/recovery-codes/new", NewCodes.as_view(), name="mfa_generate_recovery_codes"),
    path("office/people/invite", Invite.as_view(), name="invite"),
    path("office/people/<uuid:uid>/invite", InviteAgain.as_view(), name="invite_again"),
]
