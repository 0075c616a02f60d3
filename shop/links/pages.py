"""The base of every page that a private link opens; ending a customer's links."""

from collections.abc import Mapping
from typing import Any

from allauth.core.ratelimit import consume_or_429
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils.decorators import method_decorator
from django.views import View
from django.views.decorators.csrf import csrf_exempt

from shop.api.shapes import Nothing
from shop.customers.models import Customer
from shop.invitations.pages import Open
from shop.links.actions import revoke_links
from shop.links.models import Link
from shop.links.reads import link_of
from shop.links.rules import LinkFor
from shop.web.pages import FormPage
from shop.web.shapes import Form
from shop.words.reads import refused, said
from shop.workshop.rules import Refusal


@method_decorator(
    csrf_exempt, name="dispatch"
)  # no cookie says anything here: whoever forges knows the secret
class Private(View):
    """A page under a private link, for whoever holds it: no sign-in, and whatever opens nothing is answered alike.

    Without a referrer a browser calls the origin of our own form "null", which the usual check takes for another house.
    """

    purpose: LinkFor
    limit = "private_link"
    link: Link

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        answer: HttpResponseBase | None = consume_or_429(request, action=self.limit, limit_get=True)
        if answer is None:
            try:
                self.link = self._found(kwargs.pop("secret"))
                answer = super().dispatch(request, *args, **kwargs)
            except Http404:
                answer = render(request, "links/nothing.html", {"in_language": "en"}, status=404)
        answer.headers["Referrer-Policy"] = "no-referrer"
        answer.headers["Cache-Control"] = "no-store"
        answer.headers["X-Robots-Tag"] = "noindex, nofollow"
        vars(answer)["_has_been_logged"] = True  # the log would say the address, and with it the secret
        return answer

    def _found(self, secret: str) -> Link:
        found = link_of(secret)
        if found is None or found.purpose != self.purpose or not self.holds(found):
            raise Http404
        return found

    def holds(self, link: Link) -> bool:
        """Whether what an open link is about is still shown; where it is not, it answers like a link that is unknown."""
        return True

    @property
    def customer(self) -> Customer:
        """Whose link it is."""
        return self.link.customer.kept

    @property
    def language(self) -> str:
        """Theirs: in it the page speaks."""
        return self.customer.language


class PrivateForm(Private, Open):
    """A form under a link; without a cookie, for nobody signs in. Sent twice it must do what it did once."""

    needs = ""

    @property
    def secret(self) -> str:
        return str(self.kwargs["secret"])

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        told = {name: said(self.language, more[name]) for name in ("title", "lead") if name in more}
        return super().show(status, template, csrf_token="", in_language=self.language, **more | told)

    def form(self, *args: Any, **kwargs: Any) -> Form:
        """The form with its own words in the customer's language; what they chose of or typed stays as it is."""
        form = super().form(*args, **kwargs)
        form.button = said(self.language, form.button)
        for each in form.fields:
            each.label, each.help = said(self.language, each.label), said(self.language, each.help)
            each.may = said(self.language, each.may)
            for choice in each.choices:
                choice["label"] = said(self.language, str(choice["label"]))
        return form

    def again(
        self, status: int, refusals: list[Refusal], errors: Mapping[str, Any] | None = None
    ) -> HttpResponse:
        """The reasons too, those of single fields by the library's code for them."""
        told = {name: [self._wrong(each) for each in found] for name, found in (errors or {}).items()}
        return super().again(status, [refused(self.language, each) for each in refusals], told)

    def _wrong(self, error: Any) -> str:
        code = getattr(error, "code", "invalid")
        return refused(self.language, Refusal(code, str(error))).sentence


class RevokeLinks(FormPage):
    takes, title, room, button = Nothing, "End the private links", "counter", "End them all"
    lead = "Every private link in letters to this customer ends at once. The next letter brings another."

    def customer(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("customer", args=[self.kwargs["uid"]])

    def about(self) -> str:
        return f"{self.customer().label} {self.customer().name}"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        revoke_links(by=self.by, customer=self.customer())
        return self.back()


urlpatterns = [
    path("customers/<uuid:uid>/links/revoke", RevokeLinks.as_view(), name="revoke_links"),
]
