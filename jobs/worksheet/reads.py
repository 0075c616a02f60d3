"""What the work sheet knows of a job."""

from jobs.flow.models import Job
from jobs.flow.reads import backs
from jobs.flow.rules import still_counts
from jobs.worksheet.models import StepDone
from jobs.worksheet.rules import open_steps, still_in
from shop.workshop.rules import Refusal


def done_steps(job: Job) -> dict[str, StepDone]:
    """The steps that are done or omitted and still count, by key; a later round keeps what it did not go back to."""
    rows = StepDone.objects.filter(round__job=job).select_related("done_by", "recorded_by", "wrench")
    plan, gone_back = job.plan, backs(job)
    return {
        row.key: row
        for row in rows.order_by("pk")
        if (step := plan.step(row.key)) and still_counts(plan.legs, step.leg, row.backs, gone_back)
    }


def as_done(rows: dict[str, StepDone]) -> dict[str, bool]:
    """The rows as the rules look at them: done, or omitted."""
    return {key: not row.omitted for key, row in rows.items()}


def stripped(job: Job) -> tuple[Refusal, ...]:
    """Stripping steps that stand open."""
    return tuple(open_steps(job.plan, as_done(done_steps(job)), ["stripping"]))


def finished(job: Job) -> tuple[Refusal, ...]:
    """Steps of cleaning and rebuilding that stand open."""
    return tuple(open_steps(job.plan, as_done(done_steps(job)), ["cleaning", "rebuilding"]))


def untouched(job: Job) -> set[str]:
    """The parts that never came loose."""
    return still_in(job.plan, as_done(done_steps(job)))
