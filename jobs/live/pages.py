"""Begin a logging, watch it being drawn, end it or throw it away."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.urls import path, reverse

from jobs.advance.pages import calibrated, fitting
from jobs.advance.reads import partners
from jobs.bench.methods import METHODS
from jobs.bench.pages import ask_why_again
from jobs.flow.pages import JobPage
from jobs.live import actions
from jobs.live.models import Logging
from jobs.live.reads import loggings, so_far
from jobs.live.rules import State
from jobs.live.shapes import EndIn, LoggingIn, ThrowAwayIn
from shop.catalogue.rules import BenchTest
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.reads import today


class Begin(JobPage):
    takes, title, button = LoggingIn, "Log it live", "Begin"
    lead = "The page then draws what the logger sends, and says when it is enough."

    def asked(self) -> BenchTest | None:
        return self.job().plan.test(self.kwargs["key"])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        asked, on = self.asked(), today()
        logged = METHODS[asked.method].logged if asked else None
        rows = fitting(asked).prefetch_related("calibrations", "checks")
        return {
            "instrument": [(row.uid, f"{row}, {calibrated(row, on)}") for row in rows],
            "partner": partners(self.job(), asked),
            "columns": [(each, each) for each in logged.headings] if logged else [],
        }

    def start(self) -> Mapping[str, Any]:
        choices = self.choices()
        only = choices["instrument"] if len(choices["instrument"]) == 1 else []
        return {
            "phase": "final" if self.job().leg == "testing" else "as received",
            "instrument": str(only[0][0]) if only else "",
            "columns": choices["columns"][0][0] if choices["columns"] else "",
        }

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, asked = super().form(*args, **kwargs), self.asked()
        hidden = {"partner"} if not (asked and asked.partner) else set()
        form.fields = [control for control in form.fields if control.name not in hidden]
        form.note = f"Test: {asked.title}." if asked else ""
        for control in form.fields:
            if control.name == "instrument" and asked and asked.needs:
                control.required, control.may = True, ""
        ask_why_again(form, self.job(), asked, self.start()["phase"])
        return form

    def back(self) -> str:
        return reverse("test", args=[self.kwargs["uid"], self.kwargs["key"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.begin(by=self.by, job=self.job(), key=self.kwargs["key"], **data)
        return reverse("logging", args=[row.uid])


class OneLogging(Page):
    """A logging as it grows: the script asks for the drawing; without it, a reload shows the same."""

    template, room = "live/logging.html", "bench"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        row = get_object_or_404(loggings(), uid=kwargs["uid"])
        shown: dict[str, Any] = {"logging": row, "job": row.job, "asked": row.job.plan.test(row.key)}
        if row.state == State.OPEN and self.by.may(Can.TEST):
            once = [{"name": "once", "value": uuid4()}]
            shown["end"] = Form(reverse("end_logging", args=[row.uid]), "End it and judge", [], once)
        return shown | {"live": so_far(row.uid)}


class Drawn(Page):
    """The drawing alone, or 204 when whoever asks has it already."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        live = so_far(kwargs["uid"], request.GET.get("have", ""))
        if live is None:
            return HttpResponse(status=204)
        # Without the request: what every whole page knows would be asked for anew.
        return HttpResponse(render_to_string("live/drawn.html", {"live": live}))


class OfLogging(FormPage):
    """The base of a form about one logging."""

    room = "bench"

    def logging(self) -> Logging:
        return get_object_or_404(loggings(), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("logging", args=[self.kwargs["uid"]])


class End(OfLogging):
    takes, title, button = EndIn, "End this logging", "End it and judge"
    lead = "What has come is judged and kept as an attempt."

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, row = super().form(*args, **kwargs), self.logging()
        form.fields = [control for control in form.fields if control.name != "chunks"]
        ask_why_again(form, row.job, row.job.plan.test(row.key), row.phase)
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("attempt", args=[actions.end(by=self.by, logging=self.logging(), **data).uid])


class ThrowAway(OfLogging):
    takes, title, button = ThrowAwayIn, "Throw this logging away", "Throw it away"
    lead = "It is kept with the reason, but it is no attempt and nothing is judged by it."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.throw_away(by=self.by, logging=self.logging(), **data)
        return reverse("job", args=[row.job.uid])


urlpatterns = [
    path("jobs/<uuid:uid>/tests/<slug:key>/log", Begin.as_view(), name="begin_logging"),
    path("loggings/<uuid:uid>", OneLogging.as_view(), name="logging"),
    path("loggings/<uuid:uid>/drawn", Drawn.as_view(), name="logging_drawn"),
    path("loggings/<uuid:uid>/end", End.as_view(), name="end_logging"),
    path("loggings/<uuid:uid>/throw-away", ThrowAway.as_view(), name="throw_logging_away"),
]
