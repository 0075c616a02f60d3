"""Record an attempt of a bench test and judge it."""

from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from jobs.bench.methods import METHODS, Method, finding, function_list, judging, thread_check
from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.judging import Given
from jobs.bench.methods.logs import UnreadableTrace
from jobs.bench.methods.units import UNITS, UnitError
from jobs.bench.methods.verdicts import Verdict
from jobs.bench.models import Attempt
from jobs.bench.reads import Source, asked_for, facts_of, may_measure
from jobs.bench.rules import asks_of, limit_of
from jobs.flow.actions import locked, present_round, put_hold, recorded
from jobs.flow.models import Job
from jobs.flow.reads import backs
from jobs.flow.rules import HoldKind
from shop.catalogue.rules import BenchTest
from shop.gear.models import Item
from shop.instruments.models import Instrument
from shop.journal.actions import write
from shop.journal.rules import canonical, sha256
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import local_day, now
from shop.workshop.rules import Refusal, refuse


def record_test(
    *,
    by: Person,
    job: Job,
    key: str,
    phase: str,
    given: Given,
    source: Source,
    partner: Item | None = None,
    why_again: str = "",
    done_by: Person | None = None,
    done_at: datetime | None = None,
) -> Attempt:
    """Judge what was measured by the pinned plan's limits and keep the attempt."""
    require(by, Can.TEST)
    asked = asked_for(job, key)
    # Judged before the job is locked: a long trace must not hold it.
    judged = _judged(asked, source.instrument, given)
    with transaction.atomic():
        job = locked(job)
        if partner:  # nobody makes it evidence meanwhile
            Item.objects.select_for_update().get(pk=partner.pk)
        instant = now()
        who, when = done_by or by, done_at or instant
        measuring = may_measure(job, asked, phase, source, partner, who, when, why=why_again)
        refuse([*measuring.refusals, *judged.refusals])
        return _kept(
            job,
            asked,
            phase,
            given,
            source,
            judged,
            who,
            when,
            instant,
            beside=measuring.beside,
            scope=measuring.scope,
            why_again=why_again,
            by=by,
        )


def _kept(
    job: Job,
    asked: BenchTest,
    phase: str,
    given: Given,
    source: Source,
    judged: "Judged",
    who: Person,
    when: datetime,
    instant: datetime,
    *,
    beside: list[dict[str, Any]],
    scope: str,
    why_again: str,
    by: Person,
) -> Attempt:
    calibration = source.instrument.calibration_on(local_day(when)) if source.instrument else None
    row = Attempt.objects.create(
        round=present_round(job),
        key=asked.key,
        phase=phase,
        instrument=source.instrument,
        calibrated_to=calibration.good_to if calibration else None,
        station=source.station,
        certificate=source.certificate,
        by_eye=not asked.needs,
        beside=beside,
        reading=given.reading,
        unit=given.unit,
        trace=judged.packed,
        figures=given.figures,
        result=judged.result,
        picture=judged.picture,
        verdict=judged.result["verdict"],
        backs=len(backs(job)),
        why_again=why_again,
        authorisation=scope,
        done_at=when,
        done_by=who,
        recorded_at=instant,
        recorded_by=by,
    )
    facts = {"attempt": str(row.uid), "test": asked.key, "phase": phase, "verdict": row.verdict}
    facts |= {"reading": given.reading, "unit": given.unit, "certificate": source.certificate}
    facts |= {"trace": sha256(given.trace) if given.trace else "", "by": str(who.uid)}
    facts |= {"figures": sha256(canonical(given.figures)) if given.figures else ""}
    words = {"why again": why_again} if why_again else {}
    write(subject=f"job:{job.uid}", by=str(by.uid), verb="tested", facts=facts, words=words)
    if asked.method == thread_check.METHOD_NAME and row.verdict == Verdict.OUTSIDE:
        why = judged.result["decisions"][thread_check.THREADS]["sentence"]
        put_hold(by=by, job=job, kind=HoldKind.THREAD, why=why, cause=f"test:{asked.key}")
    recorded(by=by, job=job)
    return row


@dataclass(frozen=True)
class Judged:
    """What a method made of an input, ready to be stored: its record, its picture, or why it cannot be judged."""

    result: dict[str, Any] = field(default_factory=dict)
    picture: dict[str, Any] | None = None
    refusals: tuple[Refusal, ...] = ()
    packed: bytes = b""


_A = {"trace": "a trace", "reading": "a reading", "finding": "a finding", "figures": "figures"}


def _judged(asked: BenchTest, instrument: Instrument | None, given: Given) -> Judged:
    """Judge a trace, a reading, a finding or figures by the plan's limits."""
    method = METHODS[asked.method]
    wanted = method.takes
    if [name for name in ("reading", "trace", "finding", "figures") if getattr(given, name)] != [wanted]:
        said = f"{asked.title} takes {_A[wanted]} and nothing else."
        return Judged(refusals=(Refusal("wrong-input", said, wanted),))
    unit = given.unit if wanted == "reading" else method.unit
    try:
        method = _listed(method, asked, instrument)
        facts = None
        if wanted != "finding" and not asked.functions:
            facts = facts_of(instrument, unit, given.reading)
        limits = [limit_of(bound) for bound in asked.bounds]
        result, picture, packed = judging.judge(method, given, limits, facts)
        refused = _below_zero(asked, given) if wanted == "reading" else ()
        return Judged(result, picture, refused, packed)
    except finding.UnknownFinding as error:
        return Judged(refusals=(Refusal("no-finding", str(error), "finding"),))
    except BadFigures as error:
        # What is not asked for is quoted in the sentence, however it is written.
        asks = {ask.key for ask in asks_of(asked)}
        return Judged(
            refusals=tuple(
                Refusal("bad-figure", said, f"figures-{key}" if key in asks else "figures")
                for key, said in error.reasons
            )
        )
    except UnreadableTrace as error:
        return Judged(
            refusals=tuple(Refusal("unreadable-trace", reason, "trace") for reason in error.reasons)
        )
    except UnitError as error:
        return Judged(refusals=(Refusal("unreadable", str(error), "reading"),))


def _below_zero(asked: BenchTest, given: Given) -> tuple[Refusal, ...]:
    """Why a reading that could be read was typed wrong: it is below zero, and its limit is not."""
    low = limit_of(asked.bounds[0]).low
    if Decimal(given.reading) >= 0 or (low is not None and low < 0):
        return ()
    said = f"{asked.title} cannot be below zero: {given.reading} was typed."
    return (Refusal("below-zero", said, "reading"),)


def _listed(method: Method, asked: BenchTest, instrument: Instrument | None) -> Method:
    """The method of a list of functions, bound to those of the plan; the instrument serves the figures it can have read."""
    if not asked.functions:
        return method
    known = {}
    for each in asked.functions:
        if each.unit and instrument and UNITS[each.unit].kind == UNITS[instrument.unit].kind:
            known[each.key] = facts_of(instrument, each.unit)
    facts = {key: each for key, each in known.items() if each}
    return replace(method, judge=function_list.bound(asked.functions, facts))
