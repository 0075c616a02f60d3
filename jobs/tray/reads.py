"""What the tray knows of a job."""

from collections.abc import Iterable, Sequence

from jobs.flow.models import Job
from jobs.flow.reads import backs_of
from jobs.flow.rules import still_counts
from jobs.tray.models import TrayPart
from jobs.tray.rules import open_parts
from shop.workshop.rules import Refusal


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The newest row of each loose part that is accounted for and still counts, by key."""
    return ended_of([job])[job.pk]


def ended_of(jobs: Sequence[Job]) -> dict[int, dict[str, TrayPart]]:
    """The same of many jobs, by their primary key."""
    rows = TrayPart.objects.filter(round__job__in=jobs).order_by("pk")
    legs, gone_back = {job.pk: job.plan.legs for job in jobs}, backs_of(jobs)
    found: dict[int, dict[str, TrayPart]] = {job.pk: {} for job in jobs}
    for row in rows.select_related("movement__lot__part", "by", "second", "round"):
        pk = row.round.job_id
        if still_counts(legs[pk], "stripping", row.backs, gone_back[pk]):
            found[pk][row.key] = row
    return found


def accounted(job: Job, untouched: Iterable[str]) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for; `untouched` never came loose."""
    ended = {key: row.origin for key, row in ended_parts(job).items()}
    return tuple(open_parts(job.plan, ended, untouched))
