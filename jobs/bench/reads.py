"""What the bench knows of a job; an attempt made ready to be drawn."""

from decimal import Decimal
from typing import Any

from jobs.bench.methods.pictures import Ruler, interval_ruler
from jobs.bench.methods.records import limit_from
from jobs.bench.models import Attempt
from jobs.bench.rules import Tried, untested
from jobs.flow.actions import present_round
from jobs.flow.models import Job
from jobs.flow.reads import backs
from shop.workshop.rules import Refusal


def attempts(job: Job) -> list[Attempt]:
    """Every attempt of the present round, oldest first."""
    rows = (
        Attempt.objects.filter(round=present_round(job))
        .defer("trace")
        .select_related("instrument", "done_by", "recorded_by")
    )
    return list(rows.order_by("pk"))


def counting(job: Job, rows: list[Attempt]) -> list[tuple[Attempt, bool]]:
    """Each attempt with whether its verdict still counts: going back stops the final ones before it."""
    present = len(backs(job))
    return [(row, row.phase == "as received" or row.backs == present) for row in rows]


def as_tried(job: Job, rows: list[Attempt]) -> list[Tried]:
    """The attempts as the rules look at them."""
    return [Tried(row.key, row.phase, row.verdict, counts) for row, counts in counting(job, rows)]


def tested(job: Job) -> tuple[Refusal, ...]:
    """Tests whose final verdict is missing or not within."""
    return tuple(untested(job.plan, as_tried(job, attempts(job))))


def ruler(record: dict[str, Any], value: str, low: str, high: str, unit: str) -> Ruler:
    """A value with its interval against a stored limit."""
    limit = limit_from(record).to(unit)
    return interval_ruler(Decimal(value), Decimal(low), Decimal(high), limit.low, limit.high, unit=unit)
