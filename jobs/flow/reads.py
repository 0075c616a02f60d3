"""What the passage itself knows of a job, lists of jobs, and panels on shop pages."""

from typing import Any

from django.db.models import Q, QuerySet

from jobs.flow.models import DropOff, Job, Move
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
    """The open jobs of the customer and of those merged into them."""
    return "flow/jobs_panel.html", {"jobs": open_jobs().filter(_brought_by("drop_off__customer", customer))}


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """Every job that the item and those merged into it ever had."""
    return "flow/jobs_panel.html", {"jobs": jobs().filter(_brought_by("item", item)).order_by("-pk")}


def _brought_by(column: str, row: Customer | Item) -> Q:
    """What points at a row, or at one that was merged into it."""
    return Q(**{column: row}) | Q(**{f"{column}__merged_into": row})


def item_subjects(item: Item) -> list[str]:
    """The chains of the item's jobs."""
    uids = Job.objects.filter(_brought_by("item", item)).order_by("pk").values_list("uid", flat=True)
    return [f"job:{uid}" for uid in uids]


def customer_subjects(customer: Customer) -> list[str]:
    """The chains of the customer's drop-offs and of the jobs of these."""
    drop_offs = DropOff.objects.filter(_brought_by("customer", customer)).order_by("pk")
    jobs = Job.objects.filter(_brought_by("drop_off__customer", customer)).order_by("pk")
    found = [f"drop-off:{uid}" for uid in drop_offs.values_list("uid", flat=True)]
    return found + [f"job:{uid}" for uid in jobs.values_list("uid", flat=True)]


def job_subjects(job: Job) -> list[str]:
    """The chains of a job and of its drop-off, where the go-ahead and the hand-back stand."""
    return [f"job:{job.uid}", f"drop-off:{job.drop_off.uid}"]
