"""Plumbing of the pages: one class for a page, one for a page with forms, headers, errors, the rooms."""

import logging
from collections.abc import Callable, Mapping, Sequence
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.contrib.auth.mixins import LoginRequiredMixin
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, OperationalError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.module_loading import import_string
from django.views import View
from rest_framework import serializers

from shop.api.actions import KeyReused, digest_of, once
from shop.api.api import AT_ONCE, TITLES, respond
from shop.web.shapes import Form, controls
from shop.workshop.reads import workshop
from shop.workshop.rules import Refusal, Refused, Stale

log = logging.getLogger(__name__)
KEY_REUSED = (
    "This form was sent before with other words, and what it made stands. To make another, send it again."
)
MOST_TYPED = 2_500_000  # bytes of JSON or of a form
MOST_UPLOADED = 21_000_000  # bytes with a file; one that is brought in may have twenty million
ROOMS = [("counter", "Counter"), ("bench", "Bench"), ("store", "Store"), ("office", "Office")]


def too_large(request: HttpRequest) -> bool:
    """Whether a body is larger than we read, or does not say how large it is."""
    if request.headers.get("Transfer-Encoding"):
        return True
    length = request.headers.get("Content-Length") or "0"
    most = MOST_UPLOADED if request.content_type == "multipart/form-data" else MOST_TYPED
    return not length.isdecimal() or int(length) > most


class Headers:
    """Headers that every response carries; private pages are never kept by a cache."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if too_large(request):
            response = _problem(request, 413)
        elif any("\0" in value for value in request.COOKIES.values()):
            response = _problem(request, 400)
        else:
            response = self.get_response(request)
        if not request.path.startswith("/static/"):
            response.setdefault("Cache-Control", "no-store")
        response.setdefault("Permissions-Policy", "camera=(self), geolocation=(), microphone=()")
        response.setdefault("X-Robots-Tag", "noindex")
        return response

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """A page that was only looked at while the database does not answer: 503, and whoever looks is told to wait."""
        if not isinstance(error, OperationalError):
            return None
        log.exception("The database did not answer.")
        return fault(request, status=503)


def house(request: HttpRequest) -> dict[str, Any]:
    """What every template knows: the workshop, its zone and, for somebody signed in, the rooms."""
    user, row = getattr(request, "user", None), workshop()
    known = {"workshop": row, "zone": row.zone if row else "UTC"}
    if user is None or not user.is_authenticated:
        return known | {"rooms": []}
    rooms = [{"key": key, "label": label, "url": reverse(key)} for key, label in ROOMS]
    at_a_door = request.path in [room["url"] for room in rooms]
    new = at_a_door and bool(user.role_list) and user.tour_put_away_at is None
    return known | {"rooms": rooms, "offers_first_steps": new}


def panels(slot: str, subject: Any) -> list[dict[str, Any]]:
    """What higher rooms add to a page of ours: settings name a read for each slot, which gives template and context."""
    found = [import_string(name)(subject) for name in settings.PANELS[slot]]
    return [{"template": template, **context} for template, context in found]


class Page(LoginRequiredMixin, View):
    """A page for people who are signed in: a template and `context`."""

    template = ""
    room = ""
    needs = (
        "see"  # the right without which nothing of the page is shown; the table of rights is in a higher room
    )

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.user.is_authenticated and self.needs and not self.by.may(self.needs):
            raise PermissionDenied(f"You do not have the right to {self.needs}.")
        return super().dispatch(request, *args, **kwargs)

    @property
    def by(self) -> Any:
        """The person who is signed in; their type lives in a higher room."""
        return self.request.user

    def context(self, **kwargs: Any) -> dict[str, Any]:
        """What the template shows."""
        return {}

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        """Draw the page, or another template, with `more` beside its own context."""
        context = {"room": self.room} | self.context(**self.kwargs) | more
        return render(self.request, template or self.template, context, status=status)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.show()


class FormPage(Page):
    """A page whose POST checks a shape, calls one action and goes on to another page.

    What was typed stays on the page when it is refused; the form's key makes a double click harmless.
    """

    template = "web/form_page.html"
    takes: type[serializers.Serializer[Any]] = serializers.Serializer
    title = ""
    lead = ""
    button = "Save"
    cancel = "front"

    def choices(self) -> Mapping[str, Sequence[tuple[Any, ...]]]:
        """Fields that are chosen from a list: name -> (value, label), and what the choice is of."""
        return {}

    def back(self) -> str:
        """Where "Back without saving" leads."""
        return reverse(self.cancel)

    def about(self) -> str:
        """What the form is about, above its fields; empty where the title says it."""
        return ""

    def start(self) -> Mapping[str, Any]:
        """What the blank form holds."""
        return {}

    def seen(self) -> int | None:
        """The version of the row the form changes, or None when it only adds."""
        return None

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        """Call the action; the address to go to."""
        raise NotImplementedError

    def form(
        self, sent: Mapping[str, Any] | None = None, errors: Mapping[str, Any] | None = None, key: str = ""
    ) -> Form:
        """The page's form: blank, or with what was sent and what is wrong with it."""
        fields = controls(self.takes, sent=sent or self.start(), errors=errors, choices=self.choices())
        hidden: list[dict[str, Any]] = [{"name": "once", "value": key or uuid4()}]
        if (version := self.seen()) is not None:
            hidden.append({"name": "seen", "value": version})
        files = any(control.kind == "file" for control in fields)
        return Form(
            self.request.path,
            self.button,
            fields,
            hidden,
            note=self.about(),
            cancel_url=self.back(),
            keep=self.request.path,
            multipart=files,
        )

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.show(form=self.form(), title=self.title, lead=self.lead)

    def again(
        self, status: int, refusals: list[Refusal], errors: Mapping[str, Any] | None = None
    ) -> HttpResponse:
        """The page once more, with the reasons and with what was typed."""
        key = self.request.POST.get("once", "")
        form = self.form(self.request.POST, errors, key if status == 400 else "")
        form.refusals = refusals
        if status == 412:
            self.tell_present(form)
        return self.show(status, form=form, refusals=refusals, title=self.title, lead=self.lead)

    def tell_present(self, form: Form) -> None:
        """Beside each field that differs, say what stands in the record now."""
        present = self.start()
        for control in form.fields:
            now = present.get(control.name)
            if now is not None and str(now).lower() != str(control.value).lower():
                control.help = f"In the record now: {now if now not in ('', False) else 'nothing'}."

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        sent: Any = request.POST.copy()
        sent.update(request.FILES)
        shape = self.takes(data=sent)
        if not shape.is_valid():
            loose = [Refusal("invalid", str(e)) for e in shape.errors.get("non_field_errors", [])]
            return self.again(400, loose, shape.errors)
        try:
            return HttpResponseRedirect(self._done(request, shape.validated_data))
        except Refused as refused:
            return self.again(409, refused.refusals)
        except Stale as stale:
            words = f"{stale} Look at what has changed, then send it again if it is still right."
            return self.again(412, [Refusal("stale", words)])
        except IntegrityError:
            log.exception("A constraint of the database refused what no rule had refused.")
            return self.again(409, [AT_ONCE])
        except OperationalError:
            log.exception("The database did not answer.")
            return self.again(503, [Refusal("busy", "The database does not answer just now. Send it again.")])
        except KeyReused:
            return self.again(422, [Refusal("key-reused", KEY_REUSED)])

    def _done(self, request: HttpRequest, data: dict[str, Any]) -> str:
        seen = _number(request.POST.get("seen"))
        key = request.POST.get("once", "").replace("\0", "")[:80]
        if not key:
            return self.act(data, seen)
        sent = [*request.POST.lists(), *request.FILES.lists()]
        digest = digest_of(
            "POST",
            request.path,
            sorted(((k, v) for k, v in sent if k != "csrfmiddlewaretoken"), key=lambda pair: pair[0]),
        )
        _, url, _ = once(self.by.uid, f"page {key}", digest, lambda: (303, self.act(data, seen)))
        return url


def _number(text: str | None) -> int | None:
    return int(text) if text and text.isdecimal() and len(text) < 10 else None


def _problem(request: HttpRequest, status: int, detail: str = "") -> HttpResponse:
    if request.path.startswith("/api/"):
        return respond(status, detail or TITLES[status][1])
    return render(
        request, "web/problem.html", {"status": status, "detail": detail, "back_url": "/"}, status=status
    )


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400, as a page or as a problem."""
    return _problem(request, 400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """403, as a page or as a problem."""
    return _problem(request, 403, str(exception) if isinstance(exception, PermissionDenied) else "")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404, as a page or as a problem."""
    return _problem(request, 404)


def too_many(request: HttpRequest) -> HttpResponse:
    """429, as a page or as a problem."""
    return _problem(request, 429)


def fault(request: HttpRequest, status: int = 500) -> HttpResponse:
    """500 or 503, as a page or as a problem; nothing of the fault is shown and the database is not asked again."""
    if request.path.startswith("/api/"):
        return respond(status, TITLES[status][1])
    page = render_to_string("web/problem.html", {"status": status, "back_url": "/"})
    return HttpResponse(page, status=status, headers={"Cache-Control": "no-store"})


def forged(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form that did not come from our own page, or whose page is too old."""
    return _problem(
        request,
        403,
        "This page was open too long, or somebody signed in again in another tab. Open it once more: what you typed is kept.",
    )
