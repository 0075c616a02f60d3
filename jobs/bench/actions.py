"""Record an attempt of a bench test and judge it."""

from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from jobs.bench.methods import intermediate_pressure, typed_reading
from jobs.bench.methods.pictures import trace_picture
from jobs.bench.methods.records import to_record
from jobs.bench.methods.traces import UnreadableTrace, parse_csv
from jobs.bench.methods.units import UnitError, convert
from jobs.bench.methods.verdicts import Instrument as Facts
from jobs.bench.models import Attempt
from jobs.bench.rules import limit_of, phase_refusals
from jobs.flow.actions import locked, present_round
from jobs.flow.models import Job
from jobs.flow.reads import backs
from shop.catalogue.rules import BenchTest
from shop.instruments.models import Instrument
from shop.journal.actions import write
from shop.journal.rules import sha256
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require
from shop.staff.rules import Can
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, refuse


def record_test(
    *,
    by: Person,
    job: Job,
    key: str,
    phase: str,
    instrument: Instrument,
    reading: str = "",
    unit: str = "",
    trace: str = "",
) -> Attempt:
    """Judge a typed reading or a logger's trace by the pinned plan's limits and keep the attempt."""
    require(by, Can.TEST)
    asked = job.plan.test(key)
    if asked is None:
        refuse([Refusal("no-such-test", f"The plan has no test {key}.")])
    assert asked is not None
    # Judged before the job is locked: a long trace must not hold it.
    judged = _judged(asked, instrument, reading, unit, trace)
    with transaction.atomic():
        job = locked(job)
        scope, unauthorised = authorisation_for(by, job.item.model)
        refuse(
            [
                *unauthorised,
                *phase_refusals(phase, job.leg),
                *_instrument_refusals(asked, instrument),
                *judged.refusals,
            ]
        )
        calibration = instrument.calibration_on(today())
        assert calibration is not None
        instant = now()
        row = Attempt.objects.create(
            round=present_round(job),
            key=key,
            phase=phase,
            instrument=instrument,
            calibrated_to=calibration.good_to,
            reading=reading,
            unit=unit,
            trace=trace,
            result=judged.result,
            picture=judged.picture,
            verdict=judged.result["verdict"],
            backs=len(backs(job)),
            authorisation=scope,
            done_at=instant,
            done_by=by,
            recorded_at=instant,
            recorded_by=by,
        )
        facts = {"attempt": str(row.uid), "test": key, "phase": phase, "verdict": row.verdict}
        facts |= {"reading": reading, "unit": unit, "trace": sha256(trace) if trace else ""}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="tested", facts=facts)
    return row


@dataclass(frozen=True)
class Judged:
    """What a method made of an input, ready to be stored: its record, its picture, or why it cannot be judged."""

    result: dict[str, Any] = field(default_factory=dict)
    picture: dict[str, Any] | None = None
    refusals: tuple[Refusal, ...] = ()


def _judged(asked: BenchTest, instrument: Instrument, reading: str, unit: str, trace: str) -> Judged:
    """Judge a trace or a reading by the plan's limits."""
    wants_trace = asked.method == intermediate_pressure.METHOD_NAME
    if bool(trace) != wants_trace or bool(reading) == wants_trace:
        wanted = "a trace and no reading" if wants_trace else "a reading and no trace"
        pointer = "trace" if wants_trace else "reading"
        return Judged(refusals=(Refusal("wrong-input", f"{asked.title} takes {wanted}.", pointer),))
    try:
        if wants_trace:
            return _judged_trace(asked, _facts(instrument, "bar"), trace)
        return _judged_reading(asked, _facts(instrument, unit), reading, unit)
    except UnreadableTrace as error:
        return Judged(
            refusals=tuple(Refusal("unreadable-trace", reason, "trace") for reason in error.reasons)
        )
    except UnitError as error:
        return Judged(refusals=(Refusal("unreadable", str(error), "reading"),))


def _judged_trace(asked: BenchTest, facts: Facts | None, content: str) -> Judged:
    limits, trace = [limit_of(bound) for bound in asked.bounds], parse_csv(content)
    result = intermediate_pressure.judge(trace, limits, facts)
    return Judged(to_record(result), to_record(trace_picture(trace, result, limits, width=640, height=300)))


def _judged_reading(asked: BenchTest, facts: Facts | None, reading: str, unit: str) -> Judged:
    limit = limit_of(asked.bounds[0])
    result = typed_reading.judge(reading, unit, limit, facts)
    if result.value < 0 and (limit.low is None or limit.low >= 0):
        said = f"{asked.title} cannot be below zero: {reading} was typed."
        return Judged(refusals=(Refusal("below-zero", said, "reading"),))
    return Judged(to_record(result))


def _facts(instrument: Instrument, unit: str) -> Facts | None:
    """What is known of the instrument, in the unit of the reading; UnitError when the units differ in kind."""
    if not instrument.resolution:
        return None
    return Facts(resolution=convert(instrument.resolution, instrument.unit, unit))


def _instrument_refusals(asked: BenchTest, instrument: Instrument) -> list[Refusal]:
    found = []
    if instrument.kind != asked.needs:
        found.append(
            Refusal(
                "wrong-instrument",
                f"{asked.title} needs a {asked.needs}; {instrument.code} is a {instrument.kind}.",
                "instrument",
            )
        )
    if not instrument.calibration_on(today()):
        found.append(
            Refusal("not-calibrated", f"{instrument.code} is not in calibration today.", "instrument")
        )
    return found
