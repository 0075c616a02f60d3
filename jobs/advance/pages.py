"""A job's work sheet with its tray and tests, and several jobs moved on at once."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.advance import actions, reads
from jobs.advance.reads import partners
from jobs.advance.shapes import JobPhotographIn, MoveOnIn, ScanIn
from jobs.bench.actions import record_test
from jobs.bench.methods import METHODS
from jobs.bench.methods.asked import Choice
from jobs.bench.methods.units import same_kind, symbol
from jobs.bench.models import Attempt
from jobs.bench.pages import ask_why_again, asked_controls, calibrated
from jobs.bench.rules import asks_of
from jobs.bench.shapes import READ_IN, TestIn, measured
from jobs.flow.actions import confirm_empty
from jobs.flow.models import Job
from jobs.flow.pages import JobPage
from jobs.flow.reads import job_subjects, jobs, open_jobs
from jobs.flow.rules import WORKING, Leg
from jobs.flow.shapes import LATER, MOVABLE, MoveIn
from jobs.planning.reads import technicians
from jobs.tray.actions import end_part
from jobs.tray.pages import PartPage
from jobs.tray.reads import ended_parts
from jobs.worksheet.actions import do_step
from jobs.worksheet.shapes import StepIn
from shop.api.shapes import Nothing
from shop.catalogue.rules import BenchTest
from shop.gear.pages import NewPhotograph
from shop.instruments.models import Instrument
from shop.instruments.reads import who_tests_cylinders
from shop.instruments.rules import Tester
from shop.staff.models import Person
from shop.staff.pages import History
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page, panels
from shop.web.shapes import Form
from shop.workshop.reads import today
from shop.workshop.rules import Refusal


class MoveOn(FormPage):
    """Several jobs a leg on each; the Bench lists them with a box each."""

    takes, title, room, button, cancel = MoveOnIn, "Move several jobs on", "bench", "Move them on", "bench"
    lead = "Each goes one leg on; if one of them may not, none of them does."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        rows = open_jobs().filter(technician=self.by).exclude(leg__in=("testing", "signed_off"))
        return {"jobs": [(job.uid, f"Tray {job.number}, {job.leg_label}: {job.item.title}") for job in rows]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.move_on(by=self.by, **data)
        return reverse("bench")


def sheet(job: Job, by: Person, step: str) -> dict[str, Any]:
    """What the work sheet shows, with what higher rooms know of the job and its tests."""
    return reads.sheet(job, by, step) | {f"{slot}_panels": panels(slot, job) for slot in ("job", "tests")}


class Sheet(Page):
    """A job's work sheet: the present step first, then all steps, then the tray."""

    template, room = "advance/job.html", "bench"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        job = get_object_or_404(jobs(), uid=kwargs["uid"])
        asked = self.request.GET
        return sheet(job, self.by, asked.get("step", "")) | {"scanned": asked.get("scanned", "")}


class OnSheet(JobPage):
    """A form that stands on the work sheet: when it is refused, the sheet is shown again with the reasons."""

    def refused_on_sheet(self) -> bool:
        """Whether the request came from the sheet and not from this form's own page."""
        return True

    def again(
        self, status: int, refusals: list[Refusal], errors: Mapping[str, Any] | None = None
    ) -> HttpResponse:
        if not self.refused_on_sheet():
            return super().again(status, refusals, errors)
        form = self.form(self.request.POST, errors)
        shown = sheet(self.job(), self.by, self.kwargs.get("key", ""))
        return self.show(
            status,
            template="advance/job.html",
            **shown,
            refusals=refusals,
            wrong=form.wrong,
            sent=self.request.POST,
        )


class Advance(OnSheet):
    takes, title, button = MoveIn, "Go back a leg", "Go back"
    lead = (
        "What was done on that leg and after it no longer counts. After sign-off this opens the next round."
    )

    def refused_on_sheet(self) -> bool:
        return "reason" not in self.request.POST

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        behind = reads.earlier(self.job())
        return {"to": [(leg, label) for leg, label in MOVABLE if leg in WORKING and leg in behind]}

    def start(self) -> Mapping[str, Any]:
        return {"to": self.request.GET.get("to", "")}

    def tell_present(self, form: Form) -> None:
        for control in form.fields:
            if control.name == "to":
                control.help = f"In the record now: the job is on {self.job().leg_label}."

    def seen(self) -> int:
        return self.job().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.advance(by=self.by, job=self.job(), seen=seen or 0, **data)
        return self.back()


class Empty(JobPage):
    takes, title, button = Nothing, "Confirm that it is empty", "I have emptied it myself and checked"
    lead = "Your name is kept with this. Nothing is loosened while there may be gas inside."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        confirm_empty(by=self.by, job=self.job())
        return self.back()


def later_choices() -> dict[str, list[tuple[Any, str]]]:
    """Who may have done what is typed in later."""
    return {"done_by": [(person.uid, person.name) for person in technicians()]}


class Step(OnSheet):
    takes, title, button = StepIn, "Step", "Step done"

    def refused_on_sheet(self) -> bool:
        return "omitted" not in self.request.POST

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        rows = Instrument.objects.filter(kind="torque wrench").order_by("code")
        return {"wrench": [(row.uid, str(row)) for row in rows]} | later_choices()

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, plan = super().form(*args, **kwargs), self.job().plan
        if step := plan.step(self.kwargs["key"]):
            asked = {"omitted", "noted", *LATER} | ({"counted"} if step.frees else set())
            asked |= {"torque_n_m", "wrench"} if step.torque_n_m else set()
            form.fields = [control for control in form.fields if control.name in asked]
            form.note = f"Step {plan.position(step)}: {step.title}. {step.when}"
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        do_step(by=self.by, job=self.job(), key=self.kwargs["key"], **data)
        return self.back()


class Scan(OnSheet):
    """The label of a lot, scanned into the tray: what waits for its part is renewed from it."""

    takes, title, button = ScanIn, "Scan a lot into the tray", "Take it"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.take_scanned(by=self.by, job=self.job(), **data)
        return f"{self.back()}?scanned={row.key}#tray"


class TrayPartPage(PartPage):
    template = "advance/part.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        """A lot's label may be scanned here too while the part waits for one."""
        part = self.part()
        waits = part is not None and part.renew and part.key not in ended_parts(self.job())
        return {"uid": kwargs["uid"], "once": uuid4() if waits and self.by.may(Can.WORK) else ""}

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        beside = [(person.uid, person.name) for person in technicians() if person.pk != self.by.pk]
        return {**super().choices(), "second": beside, **later_choices()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        end_part(by=self.by, job=self.job(), key=self.kwargs["key"], **data)
        # Pressed in the tray itself, the next one is there too.
        after = "" if "quick" in self.request.POST else reads.next_open_part(self.job(), self.kwargs["key"])
        if after:
            return reverse("tray_part", args=[self.kwargs["uid"], after]) + f"?done={self.kwargs['key']}"
        return self.back() + "#tray"


def fitting(asked: BenchTest | None) -> QuerySet[Instrument]:
    """The instruments of the kind that a test needs."""
    return Instrument.objects.filter(kind=asked.needs if asked else "")


class Test(JobPage):
    takes, button = TestIn, "Judge it"
    template = "advance/test.html"

    @property
    def title(self) -> str:  # type: ignore[override]  # the page is named after its test
        asked = self.job().plan.test(self.kwargs["key"])
        return asked.title if asked else "No such test"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        job = self.job()
        asked = job.plan.test(kwargs["key"])
        return {
            "job": job,
            "asked": asked,
            "traced": asked and METHODS[asked.method].logged is not None,
            "tester": who_tests_cylinders() if asked and asked.of_a_station else "",
        }

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        job = self.job()
        asked = job.plan.test(self.kwargs["key"])
        rows = fitting(asked).prefetch_related("calibrations", "checks")
        on = today()
        units = same_kind(asked.bounds[0].unit) if asked and asked.bounds else []
        return {
            "instrument": [(row.uid, f"{row}, {calibrated(row, on)}") for row in rows],
            "partner": partners(job, asked),
            "unit": [(name, symbol(name)) for name in units if name in READ_IN],
        } | later_choices()

    def start(self) -> Mapping[str, Any]:
        job = self.job()
        asked = job.plan.test(self.kwargs["key"])
        unit = asked.bounds[0].unit if asked and asked.method == "typed reading" else ""
        uids = list(fitting(asked).values_list("uid", flat=True)[:2])
        instrument = str(uids[0]) if len(uids) == 1 else ""
        phase = "final" if job.leg == "testing" else "as received"
        return {"phase": phase, "unit": unit, "instrument": instrument}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        asked = self.job().plan.test(self.kwargs["key"])
        method = METHODS[asked.method] if asked else METHODS["typed reading"]
        wanted = {"trace": {"trace"}, "finding": {"finding"}, "figures": set()}.get(
            method.takes, {"reading", "unit"}
        )
        hidden = {"trace", "finding", "reading", "unit"} - wanted
        outside = asked is not None and asked.of_a_station and who_tests_cylinders() == Tester.STATION
        if outside:
            hidden |= {"instrument"}
        elif not (asked and (asked.needs or asked.of_a_station)):
            hidden |= {"instrument", "station", "certificate"}
        hidden |= set() if asked and asked.partner else {"partner"}
        form.fields = [control for control in form.fields if control.name not in hidden]
        # One shape serves every method, so it cannot say so itself.
        for control in form.fields:
            if control.name in wanted:
                control.required, control.may = True, ""
                if method.logged:
                    known = " or ".join(method.logged.headings)
                    control.help = (
                        f"The file that the logger wrote: CSV, JSON or float32, with the columns {known}."
                    )
            elif control.name == "instrument":
                control.may = "or an outside certificate"
            elif control.name in ("station", "certificate") and outside:
                control.required, control.may, control.help = True, "", ""
        asks = asks_of(asked) if asked else ()
        listed = asked is not None and bool(asked.functions)
        form.fields += asked_controls(asks, self.request.POST, listed=listed)
        # Where no figure is asked for by itself none is seldom; a laboratory's certificate is the usual source of such a sheet.
        loose = all(ask.optional or isinstance(ask, Choice) for ask in asks)
        seldom = [] if loose else [f"figures.{ask.key}" for ask in asks if ask.optional]
        of_others = [] if outside or (asks and loose and not listed) else ["station", "certificate"]
        words = [*(["more figures"] if seldom else []), *(["an outside certificate"] if of_others else [])]
        said = ", ".join([*words, "or somebody else did it earlier"]).removeprefix("or ")
        form.fold((*seldom, *of_others, *LATER), f"{said[0].upper()}{said[1:]}")
        form.multipart = "trace" in wanted
        ask_why_again(form, self.job(), asked, self.start()["phase"])
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = record_test(by=self.by, job=self.job(), key=self.kwargs["key"], **measured(data))
        return reverse("attempt", args=[row.uid])


class OneAttempt(Page):
    template, room = "advance/attempt.html", "bench"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = Attempt.objects.defer("trace").select_related("instrument", "round", "done_by")
        row = get_object_or_404(rows, uid=kwargs["uid"])
        job = get_object_or_404(jobs(), pk=row.round.job_id)
        may_measure = job.leg in ("cleared", "testing") and self.by.may(Can.TEST)
        after = reads.next_test(job, row.key) if job.leg == Leg.TESTING else None
        shown = {"job": job, "attempt": row, "picture": row.picture, "may_measure": may_measure}
        shown |= {"next_test": after if may_measure else None}
        shown |= {"may_sign": job.leg == Leg.TESTING and not after and self.by.may(Can.SIGN)}
        return shown | {"may_doubt": self.by.may(Can.DOUBT)} | reads.judged(job, row)


class JobHistory(History):
    room = "bench"

    def job(self) -> Job:
        return get_object_or_404(jobs(), uid=self.kwargs["uid"])

    def subjects(self) -> list[str]:
        return job_subjects(self.job())

    def of(self) -> tuple[str, str]:
        job = self.job()
        return f"tray {job.number}, {job.item.title}", reverse("job", args=[job.uid])


class NewJobPhotograph(JobPage):
    takes, title, button, lead = (
        JobPhotographIn,
        NewPhotograph.title,
        NewPhotograph.button,
        NewPhotograph.lead,
    )

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        plan = self.job().plan
        return {"step": [(step.key, f"{plan.position(step)}. {step.title}") for step in plan.steps]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.photograph_job(by=self.by, job=self.job(), **data)
        return self.back() + "#photographs"


urlpatterns = [
    path("bench/move-on", MoveOn.as_view(), name="move_on"),
    path("jobs/<uuid:uid>", Sheet.as_view(), name="job"),
    path("jobs/<uuid:uid>/history", JobHistory.as_view(), name="job_history"),
    path("jobs/<uuid:uid>/photographs/new", NewJobPhotograph.as_view(), name="photograph_job"),
    path("jobs/<uuid:uid>/move", Advance.as_view(), name="advance"),
    path("jobs/<uuid:uid>/empty", Empty.as_view(), name="empty"),
    path("jobs/<uuid:uid>/steps/<slug:key>", Step.as_view(), name="step"),
    path("jobs/<uuid:uid>/scan", Scan.as_view(), name="scan_lot"),
    path("jobs/<uuid:uid>/parts/<slug:key>", TrayPartPage.as_view(), name="tray_part"),
    path("jobs/<uuid:uid>/tests/<slug:key>", Test.as_view(), name="test"),
    path("attempts/<uuid:uid>", OneAttempt.as_view(), name="attempt"),
]
