"""A logging as far as it has come, and those of a job."""

from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import Max, QuerySet
from django.shortcuts import get_object_or_404

from jobs.advance.reads import quantities
from jobs.bench.methods import METHODS
from jobs.bench.reads import asked_for, facts_of
from jobs.bench.rules import limit_of
from jobs.flow.models import Job
from jobs.live.models import Logging
from jobs.live.rules import Set, State, drawn, file_of, running, to_judge
from shop.catalogue.rules import BenchTest


def loggings() -> QuerySet[Logging]:
    """Loggings with what their page and their answers show."""
    return Logging.objects.select_related(
        "job__item__model", "job__plan_version__model", "instrument", "partner", "attempt", "by", "closed_by"
    )


@lru_cache(maxsize=64)
def _set_up(uid: UUID) -> tuple[BenchTest, Set]:
    """The test of a logging and by what it is judged: nothing of it changes while it runs, so it is read once."""
    row = loggings().get(uid=uid)
    asked = asked_for(row.job, row.key)
    facts = facts_of(row.instrument, METHODS[asked.method].unit)
    limits = tuple(limit_of(bound) for bound in asked.bounds)
    return asked, Set(asked.method, row.columns, limits, facts)


def so_far(uid: UUID, have: str = "") -> dict[str, Any] | None:
    """What the page of a logging draws, or None when it has that already; `have` says what it has.

    It is asked twice a second by everybody who watches: two queries, and what is judged is kept for a second.
    """
    row: Any = get_object_or_404(Logging.objects.annotate(sent=Max("chunks__n")), uid=uid)
    here = f"{row.state} {row.sent or 0}"
    if here == have:
        return None
    asked, by = _set_up(uid)
    rows = list(row.chunks.order_by("n").values_list("lines", "last_s", "samples"))
    lines = [bytes(each) for each, _, _ in rows]
    judged = to_judge([last_s for _, last_s, _ in rows]) if row.state == State.OPEN else len(rows)
    known = running(by, file_of(by.columns, lines[:judged]))
    record = known.record
    return {
        "have": here,
        "open": row.state == State.OPEN,
        "samples": rows[-1][2] if rows else 0,
        "last_s": rows[-1][1] if rows else 0.0,
        "picture": drawn(by, file_of(by.columns, lines), known),
        "quantities": quantities(asked, record) if record else [],
        "verdict": record["verdict"] if record else "",
        "enough": record is not None and record["verdict"] != "inconclusive",
        "warnings": record["warnings"] if record else [],
        "reasons": known.reasons if rows else (),
    }


def tests_panel(job: Job) -> tuple[str, dict[str, Any]]:
    """The loggings of a job that are no attempt: those that run, and those that were thrown away, with the reason."""
    rows = loggings().filter(job=job).exclude(state=State.ENDED).order_by("pk")
    titles = {test.key: test.title for test in job.plan.tests}
    return "live/tests_panel.html", {"loggings": [(titles.get(row.key, row.key), row) for row in rows]}
