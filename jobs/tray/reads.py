"""What the tray knows of a job."""

from jobs.flow.actions import present_round
from jobs.flow.models import Job
from jobs.flow.reads import backs
from jobs.flow.rules import still_counts
from jobs.tray.models import TrayPart
from jobs.tray.rules import open_parts
from shop.workshop.rules import Refusal


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The loose parts of the present round that are accounted for and still count, by key."""
    rows = TrayPart.objects.filter(round=present_round(job)).select_related("movement__lot__part", "by")
    legs, gone_back = job.plan.legs, backs(job)
    return {
        row.key: row for row in rows.order_by("pk") if still_counts(legs, "stripping", row.backs, gone_back)
    }


def accounted(job: Job) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for."""
    return tuple(open_parts(job.plan, ended_parts(job)))
