"""Signing in and the second factor: the library's views in our look."""

from typing import Any

from allauth.account.views import LoginView
from allauth.account.views import ReauthenticateView as Reauthenticate
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
from shop.signin import shapes
from shop.signin.reads import has_second_factor
from shop.staff.models import Person
from shop.web.shapes import Form, controls
from shop.workshop.rules import Refusal


class Drawn:
    """A view of the sign-in library, drawn with our form from a shape; what is wrong is answered with 400."""

    template_name = "web/form_page.html"
    http_method_names = ["get", "head", "options", "post"]
    takes: Any = Nothing
    title, lead, button, cancel = "", "", "", "you"

    def dispatch(self: Any, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if str(request.method).lower() not in self.http_method_names:
            return View.http_method_not_allowed(self, request)  # before the library asks who somebody is
        if request.method == "POST" and "code" not in request.POST:  # the library takes it for another kind
            sent: Any = request.POST.copy()
            sent["code"] = ""
            request.POST = sent
        response: HttpResponseBase = super().dispatch(request, *args, **kwargs)  # type: ignore[misc]  # of the library
        return response

    def get_context_data(self: Any, **kwargs: Any) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context_data(**kwargs)  # type: ignore[misc]  # of the library
        if not (theirs := context.get("form")):
            return context
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
        if sent := kwargs.get("data"):
            kwargs["data"] = {"login": sent.get("username", ""), "password": sent.get("password", "")}
        return kwargs

    def typed(self) -> dict[str, Any]:
        return {"username": self.request.POST.get("username", "")}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        if kwargs.get("form") is not None and kwargs["form"].is_bound:
            wrong = Refusal("wrong-sign-in", "The address and the password do not belong together.")
            many = Refusal(
                "too-many-tries", "Too many wrong tries. Wait a quarter of an hour, then try again."
            )
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
    template_name, cancel = "signin/code.html", ""
    takes, title, button = shapes.CodeIn, "Your second factor", "Sign in"


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
        takes = str(request.method).lower() in self.http_method_names
        if takes and isinstance(request.user, Person) and not has_second_factor(request.user):
            return redirect("you")
        return super().dispatch(request, *args, **kwargs)


class FactorOff(WithFactor, DeactivateTOTPView):  # type: ignore[misc]  # likewise
    title, button = "Without the second factor", "Ask for no code any more"
    lead = "Your password alone will sign you in, and the recovery codes go. A letter tells you of it."


class Codes(WithFactor, ViewRecoveryCodesView):  # type: ignore[misc]  # likewise
    template_name, http_method_names = "signin/codes.html", ["get", "head", "options"]


class NewCodes(WithFactor, GenerateRecoveryCodesView):  # type: ignore[misc]  # likewise
    title, button, cancel = "New recovery codes", "Make new ones", "mfa_view_recovery_codes"
    lead = "The codes you have now no longer work afterwards."


# An address that the library looks up by a name of its own stands here under both names.
urlpatterns = [
    path("sign-in", SignIn.as_view(), name="sign_in"),
    path("sign-in", SignIn.as_view(), name="account_login"),
    path("sign-in/code", Code.as_view(), name="mfa_authenticate"),
    path("sign-out", LogoutView.as_view(next_page="sign_in", http_method_names=["post"]), name="sign_out"),
    path("you/confirm", Confirm.as_view(), name="account_reauthenticate"),
    path("you/confirm/code", ConfirmByCode.as_view(), name="mfa_reauthenticate"),
    path("you/second-factor", FactorOn.as_view(), name="mfa_activate_totp"),
    path("you/second-factor/off", FactorOff.as_view(), name="mfa_deactivate_totp"),
    path("you/recovery-codes", Codes.as_view(), name="mfa_view_recovery_codes"),
    path("you/recovery-codes/new", NewCodes.as_view(), name="mfa_generate_recovery_codes"),
]
