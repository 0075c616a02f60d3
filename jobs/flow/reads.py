"""What the passage itself knows of a job, lists of jobs, panels on shop pages, and what the find box knows."""

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from django.urls import reverse

from jobs.flow.models import DropOff, Job, Line, Move
from jobs.flow.rules import ENDED
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.search.rules import Kind, Thing
from shop.workshop.rules import Refusal


def jobs() -> QuerySet[Job]:
    """Jobs with what their row on a page or in the API shows."""
    return Job.objects.select_related(
        "item__model",
        "item__owner",
        "plan_version__model",
        "technician",
        "line__drop_off",
        "drop_off__customer",
    ).prefetch_related("item__identifiers")


def open_jobs() -> QuerySet[Job]:
    """Jobs that have not ended, the most urgent first."""
    return jobs().exclude(leg__in=ENDED).order_by("promised_on", "pk")


def backs(job: Job) -> list[str]:
    """The legs that the job went back to, oldest first; how many there are dates a row without a clock."""
    return list(Move.objects.filter(job=job, back=True).order_by("pk").values_list("to_leg", flat=True))


def facts(job: Job) -> tuple[Refusal, ...]:
    """What is missing at check-in: every item carries a mark that was read or is known to be unreadable."""
    if job.item.identifiers.all():
        return ()
    return (Refusal("not-identified", f"{job.item.label} has no mark on record."),)


def emptied(job: Job) -> tuple[Refusal, ...]:
    """Gear that came under pressure is confirmed empty by name before anything is loosened."""
    if job.line.contents == "no gas" or job.line.emptied_by_id:
        return ()
    return (
        Refusal("under-pressure", "It came under pressure: somebody must confirm by name that it is empty."),
    )


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """The customer's open jobs."""
    return "flow/jobs_panel.html", {"jobs": open_jobs().filter(drop_off__customer=customer)}


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """Every job the item ever had."""
    return "flow/jobs_panel.html", {"jobs": jobs().filter(item=item).order_by("-pk")}


def drop_off_thing(drop_off: DropOff) -> Thing:
    """A drop-off as it is found: by its ticket. Its customer is found under their name, which may change."""
    return Thing(
        subject=f"drop-off:{drop_off.uid}",
        kind=Kind.DROP_OFF,
        number=drop_off.label,
        title=f"Drop-off {drop_off.label}",
        address=reverse("drop_off", args=[drop_off.uid]),
    )


def line_thing(line: Line) -> Thing:
    """A line as it is found: by its bag tag, on the page of its drop-off."""
    return Thing(
        subject=f"line:{line.uid}",
        kind=Kind.LINE,
        number=line.tag,
        title=f"Bag {line.tag}",
        address=reverse("drop_off", args=[line.drop_off.uid]),
    )


def job_thing(job: Job) -> Thing:
    """A job as it is found: by its tray. The model is that of its pinned plan, which never changes."""
    model = job.plan_version.model
    return Thing(
        subject=f"job:{job.uid}",
        kind=Kind.JOB,
        number=str(job.number),
        title=f"Tray {job.number}, {model.kind_label}, {model}",
        note=f"bag {job.line.tag}",
        address=reverse("job", args=[job.uid]),
    )


def findable_drop_offs() -> tuple[QuerySet[DropOff], Callable[[DropOff], Thing]]:
    """Every drop-off, for the find box."""
    return DropOff.objects.all(), drop_off_thing


def findable_lines() -> tuple[QuerySet[Line], Callable[[Line], Thing]]:
    """Every line, for the find box."""
    return Line.objects.select_related("drop_off"), line_thing


def findable_jobs() -> tuple[QuerySet[Job], Callable[[Job], Thing]]:
    """Every job, for the find box."""
    return Job.objects.select_related("plan_version__model", "line__drop_off"), job_thing
