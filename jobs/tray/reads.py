"""What the tray knows of a job."""

from collections.abc import Iterable, Mapping, Sequence

from django.db.models import F, QuerySet

from jobs.flow.models import Job
from jobs.flow.reads import backs_of
from jobs.flow.rules import still_counts
from jobs.tray.models import TrayPart
from jobs.tray.rules import open_parts
from shop.catalogue.rules import Plan
from shop.workshop.reads import columns
from shop.workshop.rules import Refusal


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The newest row of each loose part that is accounted for and still counts, by key."""
    rows = TrayPart.objects.select_related("movement__lot__part", "by", "second", "round")
    return ended_of([job], rows)[job.pk]


def ended_of(jobs: Sequence[Job], rows: QuerySet[TrayPart]) -> dict[int, dict[str, TrayPart]]:
    """The same of many jobs, by their primary key; `rows` are all rows, with what the caller looks at beside them."""
    plans, gone_back = {job.pk: job.plan for job in jobs}, backs_of(job.pk for job in jobs)
    found: dict[int, dict[str, TrayPart]] = {job.pk: {} for job in jobs}
    for row in rows.filter(round__job__in=jobs).annotate(job=F("round__job")).order_by("pk"):
        pk = row.job
        if _counts(plans[pk], row.backs, gone_back[pk]):
            found[pk][row.key] = row
    return found


def origins_of(plans: Mapping[int, Plan], gone_back: Mapping[int, list[str]]) -> dict[int, dict[str, str]]:
    """Of many jobs, by their primary key with the plan, only where each part that goes back in is from."""
    sql = """
    SELECT r.job_id, t.key, t.backs, t.origin FROM tray_traypart t JOIN flow_round r ON r.id = t.round_id
    WHERE r.job_id = ANY(%s) ORDER BY t.id
    """
    found: dict[int, dict[str, str]] = {pk: {} for pk in plans}
    for pk, key, backs, origin in columns(sql, list(plans)):
        if _counts(plans[pk], backs, gone_back[pk]):
            found[pk][key] = origin
    return found


def _counts(plan: Plan, recorded_after: int, gone_back: Sequence[str]) -> bool:
    return still_counts(plan.legs, "stripping", recorded_after, gone_back)


def accounted(job: Job, untouched: Iterable[str]) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for; `untouched` never came loose."""
    ended = {key: row.origin for key, row in ended_parts(job).items()}
    return tuple(open_parts(job.plan, ended, untouched))
