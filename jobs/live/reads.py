"""A logging as far as it has come, and those of a job."""

from datetime import datetime
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string

from jobs.advance.reads import quantities
from jobs.bench.methods import METHODS
from jobs.bench.reads import asked_for, facts_of
from jobs.bench.rules import limit_of
from jobs.flow.actions import present_round
from jobs.flow.models import Job
from jobs.live.models import Chunk, Logging
from jobs.live.rules import Running, Set, State, ask_after_s, drawn, file_of, running, to_judge
from shop.catalogue.rules import BenchTest
from shop.workshop.reads import now

# Of a chunk: its lines, the time at its end, the samples up to there, when it came.
Row = tuple[Any, float, int, datetime]
BLOCK, LAST = 64, 4  # chunks that are kept together, and those that tell when the next is due


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


@lru_cache(maxsize=1024)
def _block(uid: UUID, n: int) -> list[Row]:
    """The chunks of a block that is full: they never change, so that a long logging is not read anew each time."""
    return list(_come(uid).filter(n__gt=n * BLOCK, n__lte=(n + 1) * BLOCK))


def _come(uid: UUID) -> QuerySet[Chunk, Row]:
    return (
        Chunk.objects.filter(logging__uid=uid).order_by("n").values_list("lines", "last_s", "samples", "at")
    )


def _rows(uid: UUID, chunks: int) -> list[Row]:
    full = chunks // BLOCK
    rest = _come(uid).filter(n__gt=full * BLOCK, n__lte=chunks)
    return [*(row for n in range(full) for row in _block(uid, n)), *rest]


def _file(by: Set, rows: list[Row]) -> bytes:
    return file_of(by.columns, [bytes(row[0]) for row in rows])


@lru_cache(maxsize=64)
def _figures(uid: UUID, chunks: int) -> tuple[Running, bool, str]:
    """What the first chunks say, whether that is enough, and both as they are drawn; judged once whoever looks."""
    asked, by = _set_up(uid)
    known = running(by, _file(by, _rows(uid, chunks)))
    record = known.record
    enough = record is not None and record["verdict"] != "inconclusive"
    shown = {"record": record, "enough": enough, "reasons": known.reasons}
    shown |= {"quantities": quantities(asked, record) if record else []}
    return known, enough, render_to_string("live/figures.html", shown)


def so_far(uid: UUID, have: str = "") -> dict[str, Any] | None:
    """What the page of a logging draws, or None when it has that already; `have` says what it has.

    Each who watches asks for it with every chunk: two queries, and the line is drawn; the figures are kept as they are.
    """
    newest = Chunk.objects.filter(logging=OuterRef("pk")).order_by("-n").values("n")[:1]
    row: Any = get_object_or_404(Logging.objects.annotate(sent=Subquery(newest)), uid=uid)
    here = f"{row.state} {row.sent or 0}"
    if here == have:
        return None
    shown: dict[str, Any] = {"have": here, "open": row.state == State.OPEN, "samples": 0, "ask_ms": 500}
    if not row.sent:
        return shown
    _, by = _set_up(uid)
    rows = _rows(uid, row.sent)
    judged = to_judge([row[1] for row in rows]) if shown["open"] else len(rows)
    known, enough, figures = _figures(uid, judged)
    shown["ask_ms"] = round(1000 * ask_after_s([row[3] for row in rows[-LAST:]], now()))
    shown |= {"samples": rows[-1][2], "last_s": rows[-1][1], "enough": enough, "figures": figures}
    return shown | {"picture": drawn(by, _file(by, rows), known)}


def no_attempts(job: Job) -> QuerySet[Logging]:
    """The loggings beside the attempts that are none themselves, thrown away or not ended; with how many samples came."""
    came = Chunk.objects.filter(logging=OuterRef("pk")).order_by("-n").values("samples")[:1]
    rows = Logging.objects.filter(Q(round=present_round(job)) | Q(job=job, phase="as received"))
    rows = rows.exclude(state=State.ENDED).select_related("instrument", "by")
    return rows.annotate(samples=Subquery(came)).order_by("pk")


def tests_panel(job: Job) -> tuple[str, dict[str, Any]]:
    """The loggings of a job that are no attempt: those that run, and those that were thrown away, with the reason."""
    rows = loggings().filter(job=job).exclude(state=State.ENDED).order_by("pk")
    titles = {test.key: test.title for test in job.plan.tests}
    return "live/tests_panel.html", {"loggings": [(titles.get(row.key, row.key), row) for row in rows]}
