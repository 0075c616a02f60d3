"""What the work sheet knows of a job."""

from jobs.flow.actions import present_round
from jobs.flow.models import Job
from jobs.flow.reads import backs
from jobs.flow.rules import still_counts
from jobs.worksheet.models import StepDone
from jobs.worksheet.rules import open_steps
from shop.workshop.rules import Refusal


def done_steps(job: Job) -> dict[str, StepDone]:
    """The steps of the present round that are done and still count, by key."""
    rows = StepDone.objects.filter(round=present_round(job)).select_related(
        "done_by", "recorded_by", "wrench"
    )
    gone_back = backs(job)
    return {
        row.key: row
        for row in rows.order_by("pk")
        if (step := job.plan.step(row.key)) and still_counts(job.plan.legs, step.leg, row.backs, gone_back)
    }


def stripped(job: Job) -> tuple[Refusal, ...]:
    """Stripping steps that stand open."""
    return tuple(open_steps(job.plan, done_steps(job), ["stripping"]))


def finished(job: Job) -> tuple[Refusal, ...]:
    """Steps of cleaning and rebuilding that stand open."""
    return tuple(open_steps(job.plan, done_steps(job), ["cleaning", "rebuilding"]))
