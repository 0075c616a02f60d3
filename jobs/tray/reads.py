"""What the tray knows of a job."""

from collections.abc import Iterable, Sequence

from django.db.models import F, QuerySet

from jobs.flow.models import Job
from jobs.flow.reads import backs_of
from jobs.flow.rules import still_counts
from jobs.tray.models import TrayPart
from jobs.tray.rules import open_parts
from shop.workshop.rules import Refusal


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The newest row of each loose part that is accounted for and still counts, by key."""
    rows = TrayPart.objects.select_related("movement__lot__part", "by", "second", "round")
    return ended_of([job], rows)[job.pk]


def ended_of(jobs: Sequence[Job], rows: QuerySet[TrayPart]) -> dict[int, dict[str, TrayPart]]:
    """The same of many jobs, by their primary key; `rows` are all rows, with what the caller looks at beside them."""
    legs, gone_back = {job.pk: job.plan.legs for job in jobs}, backs_of(jobs)
    found: dict[int, dict[str, TrayPart]] = {job.pk: {} for job in jobs}
    for row in rows.filter(round__job__in=jobs).annotate(job=F("round__job")).order_by("pk"):
        pk = row.job
        if still_counts(legs[pk], "stripping", row.backs, gone_back[pk]):
            found[pk][row.key] = row
    return found


def accounted(job: Job, untouched: Iterable[str]) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for; `untouched` never came loose."""
    ended = {key: row.origin for key, row in ended_parts(job).items()}
    return tuple(open_parts(job.plan, ended, untouched))
