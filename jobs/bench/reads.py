"""What the bench knows of a job; an attempt made ready to be drawn."""

from decimal import Decimal
from typing import Any

from jobs.bench.methods import intermediate_pressure
from jobs.bench.methods.pictures import Picture, Ruler, interval_ruler, trace_picture
from jobs.bench.methods.records import instrument_from, limit_from
from jobs.bench.methods.traces import parse_csv
from jobs.bench.models import Attempt
from jobs.bench.rules import Tried, untested
from jobs.flow.actions import present_round
from jobs.flow.models import Job, Move
from shop.workshop.rules import Refusal


def attempts(job: Job) -> list[Attempt]:
    """Every attempt of the present round, oldest first."""
    rows = Attempt.objects.filter(round=present_round(job)).select_related(
        "instrument", "done_by", "recorded_by"
    )
    return list(rows.order_by("pk"))


def backs(job: Job) -> int:
    """How often the job has gone back to an earlier leg."""
    return Move.objects.filter(job=job, back=True).count()


def counting(job: Job, rows: list[Attempt]) -> list[tuple[Attempt, bool]]:
    """Each attempt with whether its verdict still counts: a move back stops those before it."""
    present = backs(job)
    return [(row, row.backs == present) for row in rows]


def tested(job: Job) -> tuple[Refusal, ...]:
    """Tests whose final verdict is missing or not within."""
    tried = [Tried(row.key, row.phase, row.verdict, counts) for row, counts in counting(job, attempts(job))]
    return tuple(untested(job.plan, tried))


def picture(attempt: Attempt) -> Picture | None:
    """The trace of an attempt, drawn with its stored limits; None for a typed reading."""
    if not attempt.trace:
        return None
    trace = parse_csv(attempt.trace)
    limits = [limit_from(record) for record in attempt.result["limits"]]
    known = attempt.result["instrument"]
    result = intermediate_pressure.judge(trace, limits, instrument_from(known) if known else None)
    return trace_picture(trace, result, limits, width=640, height=300)


def ruler(record: dict[str, Any], value: str, low: str, high: str, unit: str) -> Ruler:
    """A value with its interval against a stored limit."""
    limit = limit_from(record).to(unit)
    return interval_ruler(Decimal(value), Decimal(low), Decimal(high), limit.low, limit.high, unit=unit)
