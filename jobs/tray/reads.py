"""What the tray knows of a job."""

from jobs.flow.actions import present_round
from jobs.flow.models import Job
from jobs.tray.models import TrayPart
from jobs.tray.rules import open_parts
from shop.workshop.rules import Refusal


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The loose parts of the present round that are accounted for, by key."""
    rows = TrayPart.objects.filter(round=present_round(job)).select_related("movement__lot__part", "by")
    return {row.key: row for row in rows}


def accounted(job: Job) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for."""
    return tuple(open_parts(job.plan, ended_parts(job)))
