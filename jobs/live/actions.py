"""Begin a logging, add its chunks in order, end it as an attempt, or throw it away with a reason."""

from django.db import transaction

from jobs.bench.actions import record_test
from jobs.bench.methods import METHODS
from jobs.bench.methods.judging import Given
from jobs.bench.methods.logs import UnreadableTrace
from jobs.bench.models import Attempt
from jobs.bench.reads import Source, asked_for, may_measure
from jobs.flow.actions import locked, present_round
from jobs.flow.models import Job
from jobs.flow.reads import backs, evidence_refusals
from jobs.live.models import Chunk, Logging
from jobs.live.rules import (
    NOTHING,
    Sent,
    State,
    chunk_refusals,
    end_refusals,
    file_of,
    next_chunk,
    read_chunk,
)
from shop.catalogue.rules import BenchTest
from shop.gear.models import Item
from shop.instruments.models import Instrument
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse


def begin(
    *,
    by: Person,
    job: Job,
    key: str,
    phase: str,
    columns: str = "",
    instrument: Instrument | None = None,
    partner: Item | None = None,
    why_again: str = "",
) -> Logging:
    """Begin to log one test of a job; what would refuse its attempt refuses it here already."""
    require(by, Can.TEST)
    asked = asked_for(job, key)
    with transaction.atomic():
        job, at = locked(job), now()
        measuring = may_measure(job, asked, phase, Source(instrument), partner, by, at, why=why_again)
        refuse(
            [
                *measuring.refusals,
                *_columns_refusals(asked, columns),
                *_open_refusals(job, asked),
            ]
        )
        logged = METHODS[asked.method].logged
        assert logged is not None
        row = Logging.objects.create(
            job=job,
            round=present_round(job),
            key=key,
            phase=phase,
            backs=len(backs(job)),
            instrument=instrument,
            partner=partner,
            why_again=why_again,
            columns=columns or logged.headings[0],
            at=at,
            by=by,
        )
        facts = {"logging": str(row.uid), "test": key, "phase": phase, "columns": row.columns}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="logging begun", facts=facts)
    return row


def _columns_refusals(asked: BenchTest, columns: str) -> list[Refusal]:
    logged = METHODS[asked.method].logged
    if logged is None:
        return [Refusal("nothing-to-log", f"{asked.title} takes no trace: there is nothing to log.")]
    if columns and columns not in logged.headings:
        said = f"{asked.title} takes the columns {' or '.join(logged.headings)}."
        return [Refusal("wrong-columns", said, "columns")]
    return []


def _open_refusals(job: Job, asked: BenchTest) -> list[Refusal]:
    row = Logging.objects.filter(job=job, key=asked.key, state=State.OPEN).select_related("by").first()
    if row is None:
        return []
    said = f"{row.by.name} is logging {asked.title} already: end that one, or throw it away."
    return [Refusal("logging-open", said)]


def add_chunk(*, by: Person, logging: Logging, n: int, samples: str) -> Chunk:
    """Keep the next chunk of a logging; the same one again changes nothing, and others are refused.

    The caller's journal entry is that of the end: the digest of the whole stands there.
    """
    require(by, Can.TEST)
    try:
        lines, log = read_chunk(logging.columns, samples)
    except UnreadableTrace as error:
        refuse([Refusal("unreadable-trace", reason, "samples") for reason in error.reasons])
    with transaction.atomic():
        row = Logging.objects.select_for_update().get(pk=logging.pk)
        if row.by_id != by.pk:
            refuse([Refusal("another's", "Somebody else began this logging; only they add to it.")])
        last = row.chunks.order_by("n").last()
        if last is not None and 1 <= n <= last.n:
            return _same(row, n, lines)
        before = Sent(last.n, b"", last.samples, last.size, last.last_s) if last else NOTHING
        chunk = next_chunk(n, lines, log, before)
        kept = evidence_refusals([row.job.item_id])  # without the job's lock: the end asks again under it
        refuse([*kept, *chunk_refusals(row.state, chunk, float(log.columns[0][0]), before)])
        return Chunk.objects.create(
            logging=row,
            n=n,
            lines=chunk.lines,
            samples=chunk.samples,
            size=chunk.size,
            last_s=chunk.last_s,
            at=now(),
        )


def _same(row: Logging, n: int, lines: bytes) -> Chunk:
    chunk = row.chunks.get(n=n)
    if bytes(chunk.lines) != lines:
        said = f"Chunk {n} has come already with other samples; what has come stands."
        refuse([Refusal("another-chunk", said, "samples")])
    return chunk


def end(*, by: Person, logging: Logging, chunks: int | None = None, why_again: str = "") -> Attempt:
    """End a logging: its chunks joined are the file of an attempt, judged and refused as an uploaded one would be.

    `why_again` is for an attempt that came to count while it was logged.
    """
    require(by, Can.TEST)
    job, sent = logging.job, list(logging.chunks.order_by("n"))
    went_back = len(backs(job)) != logging.backs
    refuse(end_refusals(logging.state, had=len(sent), chunks=chunks, went_back=went_back))
    with transaction.atomic():
        # It judges first and locks the job then; whatever came in between is seen once both are locked.
        attempt = record_test(
            by=by,
            job=job,
            key=logging.key,
            phase=logging.phase,
            given=Given(trace=file_of(logging.columns, [bytes(each.lines) for each in sent])),
            source=Source(logging.instrument),
            partner=logging.partner,
            why_again=why_again or logging.why_again,
            done_by=logging.by,
            done_at=sent[-1].at,
        )
        row = _locked(logging)
        went_back, grew = len(backs(job)) != row.backs, row.chunks.count() != len(sent)
        refuse(end_refusals(row.state, had=len(sent), chunks=chunks, went_back=went_back, grew=grew))
        row.state, row.attempt, row.closed_at, row.closed_by = State.ENDED.value, attempt, now(), by
        row.save()
        facts = {"logging": str(row.uid), "attempt": str(attempt.uid), "chunks": len(sent)}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="logging ended", facts=facts)
    return attempt


def throw_away(*, by: Person, logging: Logging, reason: str) -> Logging:
    """Close a logging that is to be no attempt; it is kept with the reason."""
    require(by, Can.TEST)
    with transaction.atomic():
        job = locked(logging.job)
        row = _locked(logging)
        if row.state != State.OPEN:
            refuse([Refusal("logging-closed", f"This logging is {row.state} already.")])
        row.state, row.reason, row.closed_at, row.closed_by = State.THROWN_AWAY.value, reason, now(), by
        row.save()
        facts = {"logging": str(row.uid), "test": row.key}
        words = {"reason": reason}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="logging thrown away", facts=facts, words=words)
    return row


def _locked(logging: Logging) -> Logging:
    return Logging.objects.select_for_update().get(pk=logging.pk)
