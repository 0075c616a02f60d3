"""Pages to hold and let go, to pass gear on, to note contents and to add a plan."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.flow import actions
from jobs.flow.models import Custody, Hold, Job, Line
from jobs.flow.reads import jobs
from jobs.flow.shapes import ContentsIn, CustodyIn, HoldIn, LiftIn, MorePlanIn
from shop.catalogue.reads import newest
from shop.staff.models import Person
from shop.web.pages import FormPage
from shop.web.shapes import Form


class OfJob(FormPage):
    """The base of a form about one job."""

    room = "bench"

    def job(self) -> Job:
        """The job: read once for a page that is shown, and anew for what is sent, since it may have moved on."""
        return self._shown if self.request.method == "GET" else self._read()

    @cached_property
    def _shown(self) -> Job:
        return self._read()

    def _read(self) -> Job:
        return get_object_or_404(jobs(), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("job", args=[self.kwargs["uid"]])


class JobPage(OfJob):
    """A form about one job that says which job it is."""

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        if "lead" in more:
            job = self.job()
            more["lead"] = f"Tray {job.number}: {job.item.title}, {job.item.marks}. {more['lead']}"
        return super().show(status, template, **more)


class HoldJob(OfJob):
    takes, title, button = HoldIn, "Hold this job", "Hold it"
    lead = "The job stays where it is until somebody lifts the hold and says why."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.hold(by=self.by, job=self.job(), **data)
        return self.back()


class Contents(OfJob):
    takes, title, button = ContentsIn, "What is inside", "Note it"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.note_contents(by=self.by, job=self.job(), **data)
        return self.back()


class AddPlan(OfJob):
    takes, title, button = MorePlanIn, "One more plan for this job", "Add the plan"
    lead = "Its price counts at once: ask the customer before, and take a new go-ahead if need be."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        job = self.job()
        taken = {row.key for row in job.plans}
        return {"plan": [(row.uid, str(row)) for row in newest([job.item.model_id]) if row.key not in taken]}

    def seen(self) -> int:
        return self.job().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_plan(by=self.by, job=self.job(), seen=seen or 0, **data)
        return self.back()


class Lift(FormPage):
    takes, title, room, button = LiftIn, "Lift this hold", "bench", "Lift it"

    def hold(self) -> Hold:
        return get_object_or_404(Hold.objects.select_related("job", "item"), uid=self.kwargs["uid"])

    def back(self) -> str:
        row = self.hold()
        return reverse("job", args=[row.job.uid]) if row.job else reverse("item", args=[row.item.uid])  # type: ignore[union-attr]  # one is set

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        people = Person.objects.filter(is_active=True).exclude(pk=self.by.pk).order_by("name")
        return {"second": [(person.uid, person.name) for person in people]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, row = super().form(*args, **kwargs), self.hold()
        form.note = f"On hold, {row.kind}: {row.why}"
        if row.kind != "evidence":
            form.fields = form.fields[:1]
            return form
        self.title, form.button = "Release this evidence", "Release it"
        for name in ("second", "second_secret"):
            form.ask_if(name, needed=True)
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.lift(by=self.by, hold=self.hold(), **data)
        return self.back()


class PassOn(FormPage):
    """Where a line's gear has been, and the form to say where it goes."""

    template, takes, title, room = "flow/custody.html", CustodyIn, "Where this gear is", "counter"
    button = "Write it down"

    def line(self) -> Line:
        rows = Line.objects.select_related("drop_off__customer", "item__model")
        return get_object_or_404(rows, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.line().drop_off.uid])

    def context(self, **kwargs: Any) -> dict[str, Any]:
        line = self.line()
        rows = Custody.objects.filter(line=line).select_related("by", "corrects").order_by("-pk")
        return {"line": line, "rows": rows}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.pass_on(by=self.by, line=self.line(), **data)
        return reverse("custody", args=[self.kwargs["uid"]])


urlpatterns = [
    path("jobs/<uuid:uid>/hold", HoldJob.as_view(), name="hold"),
    path("jobs/<uuid:uid>/contents", Contents.as_view(), name="contents"),
    path("jobs/<uuid:uid>/plans/add", AddPlan.as_view(), name="add_plan"),
    path("holds/<uuid:uid>/lift", Lift.as_view(), name="lift"),
    path("lines/<uuid:uid>/custody", PassOn.as_view(), name="custody"),
]
