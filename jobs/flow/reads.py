"""What the passage itself knows of a job, lists of jobs, and panels on shop pages."""

from typing import Any

from django.db.models import QuerySet

from jobs.flow.models import Job, Move
from jobs.flow.rules import ENDED
from shop.customers.models import Customer
from shop.gear.models import Item
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
