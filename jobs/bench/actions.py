"""Record an attempt of a bench test and judge it."""

from typing import Any

from django.db import transaction

from jobs.bench.methods import intermediate_pressure, typed_reading
from jobs.bench.methods.records import to_record
from jobs.bench.methods.traces import UnreadableTrace, parse_csv
from jobs.bench.methods.units import UnitError, convert
from jobs.bench.methods.verdicts import Instrument as Facts
from jobs.bench.models import Attempt
from jobs.bench.reads import backs
from jobs.bench.rules import limit_of, phase_refusals
from jobs.flow.actions import locked, present_round
from jobs.flow.models import Job
from shop.catalogue.rules import BenchTest
from shop.instruments.models import Instrument
from shop.journal.actions import write
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
    # Judged before anything is locked: a long trace must not hold the job.
    result, refusals = _judged(asked, instrument, reading, unit, trace)
    with transaction.atomic():
        job = locked(job)
        scope, unauthorised = authorisation_for(by, job.item.model)
        refuse(
            [
                *unauthorised,
                *phase_refusals(phase, job.leg),
                *_instrument_refusals(asked, instrument),
                *refusals,
            ]
        )
        assert instrument.calibrated_to is not None
        instant = now()
        row = Attempt.objects.create(
            round=present_round(job),
            key=key,
            phase=phase,
            instrument=instrument,
            calibrated_to=instrument.calibrated_to,
            reading=reading,
            unit=unit,
            trace=trace,
            result=result,
            verdict=result["verdict"],
            backs=backs(job),
            authorisation=scope,
            done_at=instant,
            done_by=by,
            recorded_at=instant,
            recorded_by=by,
        )
        facts = {"attempt": str(row.uid), "test": key, "phase": phase, "verdict": row.verdict}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="tested", facts=facts)
    return row


def _judged(
    asked: BenchTest, instrument: Instrument, reading: str, unit: str, trace: str
) -> tuple[dict[str, Any], list[Refusal]]:
    """The method's record, or why the input cannot be judged."""
    wants_trace = asked.method == intermediate_pressure.METHOD_NAME
    if bool(trace) != wants_trace or bool(reading) == wants_trace:
        wanted = "a trace and no reading" if wants_trace else "a reading and no trace"
        return {}, [
            Refusal("wrong-input", f"{asked.title} takes {wanted}.", "trace" if wants_trace else "reading")
        ]
    limits = [limit_of(bound) for bound in asked.bounds]
    try:
        if wants_trace:
            facts = _facts(instrument, "bar")
            return to_record(intermediate_pressure.judge(parse_csv(trace), limits, facts)), []
        facts = _facts(instrument, unit)
        return to_record(typed_reading.judge(reading, unit, limits[0], facts)), []
    except UnreadableTrace as error:
        return {}, [Refusal("unreadable-trace", reason, "trace") for reason in error.reasons]
    except UnitError as error:
        return {}, [Refusal("unreadable", str(error), "reading")]


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
    if not instrument.calibrated_on(today()):
        found.append(
            Refusal("not-calibrated", f"{instrument.code} is not in calibration today.", "instrument")
        )
    return found
