"""What the tray knows of a job."""

from collections.abc import Iterable

from jobs.flow.models import Job
from jobs.flow.reads import backs
from jobs.flow.rules import still_counts
from jobs.tray.models import TrayPart
from jobs.tray.rules import open_parts
from shop.workshop.rules import Refusal


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The newest row of each loose part that is accounted for and still counts, by key."""
    rows = TrayPart.objects.filter(round__job=job).select_related("movement__lot__part", "by", "second")
    legs, gone_back = job.plan.legs, backs(job)
    return {
        row.key: row for row in rows.order_by("pk") if still_counts(legs, "stripping", row.backs, gone_back)
    }


def accounted(job: Job, untouched: Iterable[str]) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for; `untouched` never came loose."""
    ended = {key: row.origin for key, row in ended_parts(job).items()}
    return tuple(open_parts(job.plan, ended, untouched))
