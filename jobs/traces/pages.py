"""A logger's trace looked at closely, and as a file."""

from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from jobs.bench.models import Attempt
from jobs.traces import reads
from jobs.traces.api import trace_file
from jobs.traces.rules import nearby
from jobs.traces.shapes import LookIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import Page
from shop.web.shapes import Form, controls


class Trace(Page):
    """One trace or two in a window; a window that shows nothing is refused beside the whole trace."""

    template, room = "traces/trace.html", "bench"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        row = reads.traced(kwargs["uid"])
        others = reads.comparable(row)
        shape = LookIn(data=request.GET.dict())
        given = shape.validated_data if shape.is_valid() else {"start": None, "end": None, "over": None}
        wrong: dict[str, Any] = dict(shape.errors)
        if given["over"] is not None and given["over"].pk not in {each.pk for each in others}:
            wrong["over"] = ["It is not a trace of the same test of the same gear."]
            given["over"] = None
        over = next((each for each in others if each == given["over"]), None)
        try:
            found = reads.look(row, over, *_sides(given))
        except ValueError as error:
            wrong["end"] = [str(error)]
            found = reads.look(row, over, None, None)
        shown: dict[str, Any] = {
            "attempt": row,
            "job": row.round.job,
            "look": found,
            "picture": found.picture,
            "over": over,
        }
        shown |= {"form": _form(row, others, found, request.GET.dict(), wrong)}
        shown |= {"links": _links(found, over), "named": reads.name_of(row)}
        shown |= {"asked": row.round.job.plan.test(row.key), "laid": reads.name_of(over) if over else ""}
        return self.show(status=400 if wrong else 200, **shown)


def _sides(given: dict[str, Any]) -> tuple[float | None, float | None]:
    start, end = (None if given[name] is None else float(given[name]) for name in ("start", "end"))
    return start, end


def _form(
    row: Attempt, others: list[Attempt], found: reads.Look, sent: dict[str, str], wrong: dict[str, Any]
) -> Form:
    start, end = found.window
    filled = {"start": f"{start:.3f}", "end": f"{end:.3f}"} | (sent if wrong else {})
    filled |= {"over": sent.get("over", "")}
    choices = {"over": [(each.uid, reads.name_of(each)) for each in others]}
    fields = controls(LookIn, sent=filled, errors=wrong, choices=choices)
    for control in fields:
        control.unit = "" if control.kind == "select" else found.units[0]
    if not others:
        fields = [control for control in fields if control.name != "over"]
    return Form(reverse("trace", args=[row.uid]), "Show", fields, method="get")


def _links(found: reads.Look, over: Attempt | None) -> list[dict[str, str]]:
    laid = {"over": str(over.uid)} if over else {}
    links = [
        {"label": name, "url": f"?{urlencode({'start': start, 'end': end} | laid)}"}
        for name, (start, end) in nearby(*found.window).items()
    ]
    return [*links, {"label": "All of it", "url": f"?{urlencode(laid)}"}]


class TraceFile(Page):
    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        return trace_file(kwargs["uid"])


urlpatterns = [
    path("attempts/<uuid:uid>/trace", Trace.as_view(), name="trace"),
    path("attempts/<uuid:uid>/trace.csv", TraceFile.as_view(), name="trace_file"),
]
