"""What the bench knows of a job; an attempt made ready to be drawn."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Q, QuerySet

from jobs.bench.methods import METHODS, function_list, judging, typed_reading
from jobs.bench.methods.judging import Difference, Given
from jobs.bench.methods.packed import unpack
from jobs.bench.methods.pictures import Ruler, interval_ruler
from jobs.bench.methods.records import instrument_from, limit_from
from jobs.bench.methods.units import convert, parse_reading
from jobs.bench.methods.verdicts import Instrument as Facts
from jobs.bench.models import Attempt
from jobs.bench.rules import Other, Tried, again_refusals, beside_refusals, phase_refusals, untested
from jobs.flow.actions import present_round
from jobs.flow.models import Job
from jobs.flow.reads import backs, done_refusals, evidence_refusals, work_refusals
from jobs.flow.rules import ENDED, Leg, Outcome
from shop.catalogue.models import PlanVersion
from shop.catalogue.rules import BenchTest, Function
from shop.gear.models import Item
from shop.gear.reads import companions
from shop.instruments.models import BadPeriod, Instrument
from shop.instruments.reads import who_tests_cylinders
from shop.instruments.rules import Of, Tester
from shop.staff.models import Person
from shop.staff.reads import authorisation_for
from shop.workshop.reads import local_day, zone
from shop.workshop.rules import Refusal, Refused


def attempts(job: Job) -> list[Attempt]:
    """Every attempt of the present round and every one as received, oldest first, and the set's that name this job."""
    keys = [test.key for test in job.plan.tests if test.of_set]
    mine = Q(round=present_round(job)) | Q(round__job=job, phase="as received")
    of_set = Q(round__job__drop_off=job.drop_off_id, key__in=keys)
    rows = Attempt.objects.filter(mine | of_set if keys else mine)
    rows = rows.defer("trace").select_related("instrument", "done_by", "recorded_by", "round")
    return [
        row
        for row in rows.order_by("pk")
        if row.round.job_id == job.pk or any(each["job"] == str(job.uid) for each in row.beside)
    ]


def stored_trace(attempt: Attempt) -> str:
    """The trace of an attempt as CSV, with the numbers that were judged: a method's `logged.read` takes it. Empty if none."""
    return unpack(bytes(attempt.trace)) if attempt.trace else ""


@dataclass(frozen=True)
class Beside:
    """The items beside one under test: the partner, the rest of its set in this drop-off, and what the row keeps."""

    partner: Other | None
    rest: list[Other]
    facts: list[dict[str, Any]]


def beside(job: Job, asked: BenchTest, partner: Item | None) -> Beside:
    """Who is tested together with a job's item; a test of the set takes in every open job of the set."""
    jobs = {row.item_id: row for row in _open([partner.pk])} if partner else {}
    rest = list(_open(companions(job.item)).exclude(pk=job.pk)) if asked.of_set else []
    facts = []
    if partner is not None:
        here = jobs.get(partner.pk)
        facts.append(
            {
                "item": str(partner.uid),
                "job": str(here.uid) if here else "",
                "worked": here.worked if here else 0,
            }
        )
    known = {each["job"] for each in facts}
    facts += [
        {"item": str(row.item.uid), "job": str(row.uid), "worked": row.worked}
        for row in rest
        if str(row.uid) not in known
    ]
    if asked.of_set:  # whoever reads it from another job of the set must see that this one was worked on
        facts.append({"item": str(job.item.uid), "job": str(job.uid), "worked": job.worked})
    found = Other(partner.label, partner.model.kind, _leg(jobs.get(partner.pk))) if partner else None
    return Beside(found, [Other(row.item.label, row.item.model.kind, row.leg) for row in rest], facts)


def _open(items: Sequence[int]) -> QuerySet[Job]:
    return Job.objects.filter(item__in=items).exclude(leg__in=ENDED).select_related("item__model")


def _leg(job: Job | None) -> str:
    return job.leg if job else ""


@dataclass(frozen=True)
class Source:
    """What a verdict rests on: our instrument, an outside station's certificate, or somebody's eye (both empty)."""

    instrument: Instrument | None = None
    station: str = ""
    certificate: str = ""


@dataclass(frozen=True)
class Measuring:
    """Why a test may not be done, under which authorisation it is, and what stands beside the item."""

    refusals: list[Refusal]
    scope: str
    beside: list[dict[str, Any]]


def asked_for(job: Job, key: str) -> BenchTest:
    """The test of a job's plan; refused when it has none of that key."""
    asked = job.plan.test(key)
    if asked is None:
        raise Refused([Refusal("no-such-test", f"The plan has no test {key}.")])
    return asked


def why_again(job: Job, asked: BenchTest, phase: str, why: str = "") -> list[Refusal]:
    """Whether a reason is missing for doing a test once more."""
    return again_refusals(asked, phase, as_tried(job, attempts(job)), why)


def may_measure(
    job: Job,
    asked: BenchTest,
    phase: str,
    source: Source,
    partner: Item | None,
    who: Person,
    when: datetime,
    *,
    why: str,
) -> Measuring:
    """Whether a test may be done on a job, whatever is then measured; `why` it is done once more."""
    scope, unauthorised = authorisation_for(who, job.item.model, oxygen=job.plan.oxygen)
    others = beside(job, asked, partner)
    found = [
        *work_refusals(job),
        *(evidence_refusals([partner.pk]) if partner else []),
        *unauthorised,
        *done_refusals(who, when, job),
        *phase_refusals(phase, job.leg),
        *_source_refusals(asked, source, local_day(when)),
        *beside_refusals(asked, job.item.label, others.partner, others.rest),
        *why_again(job, asked, phase, why),
    ]
    return Measuring(found, scope, others.facts)


def _source_refusals(asked: BenchTest, source: Source, on: date) -> list[Refusal]:
    """A verdict rests on the instrument that the plan asks for, in calibration, or on a named certificate."""
    instrument = source.instrument
    if asked.of_a_station and not source.certificate and who_tests_cylinders() == Tester.STATION:
        said = "This workshop does not test cylinders itself: record the outside station and its certificate."
        return [Refusal("not-a-test-station", said, "certificate")]
    if source.station or source.certificate:
        found = []
        if not (source.station and source.certificate):
            said = "Name the station and the number of its certificate."
            found.append(Refusal("certificate-missing", said, "certificate"))
        if instrument is not None:
            said = "Either our own instrument or a certificate."
            found.append(Refusal("two-sources", said, "instrument"))
        return found
    if instrument is None:
        said = f"{asked.title} needs a {asked.needs}, or an outside station's certificate."
        return [Refusal("instrument-missing", said, "instrument")] if asked.needs else []
    found = []
    if instrument.kind != asked.needs:
        said = f"{asked.title} needs a {asked.needs}; {instrument.code} is a {instrument.kind}."
        found.append(Refusal("wrong-instrument", said, "instrument"))
    if fault := instrument.fault_on(on):
        found.append(Refusal("not-calibrated", fault, "instrument"))
    return found


def facts_of(instrument: Instrument | None, unit: str, reading: str = "") -> Facts | None:
    """What is known of the instrument, in the unit of the reading; UnitError when the units differ in kind.

    An accuracy of the reading is taken of full scale where no single reading was typed: no reading is above that.
    """
    if instrument is None or unit == "percent":
        return None  # a percentage is worked out from readings, and no instrument shows it

    def known(text: str) -> Decimal | None:
        return convert(text, instrument.unit, unit) if text else None

    full_scale, accuracy = known(instrument.full_scale), instrument.accuracy
    whole = full_scale
    if reading and instrument.accuracy_of == Of.READING:
        whole = abs(parse_reading(reading))
    uncertainty = (
        None
        if whole is None or not accuracy
        else typed_reading.standard_uncertainty(whole, Decimal(accuracy))
    )
    facts = Facts(known(instrument.resolution), full_scale, uncertainty)
    return None if facts == Facts() else facts


def counting(job: Job, rows: list[Attempt]) -> list[tuple[Attempt, bool]]:
    """Each attempt with whether its verdict still counts.

    Going back stops the final ones before it, and so do work on an item that was tested beside this one and an
    instrument that was found bad since.
    """
    present, upset = len(backs(job)), _upset(rows) | mistrusted(rows)
    return [
        (
            row,
            row.phase == "as received"
            or (row.pk not in upset and (row.backs == present or row.round.job_id != job.pk)),
        )
        for row in rows
    ]


def tested_on(job: Job, version: PlanVersion) -> date | None:
    """The day of the pressure test that a plan of the job asks for; of several the first. None where it asks for none."""
    before = "" if version.pk == job.plan_version_id else f"{version.key}-"
    keys = {f"{before}{test.key}" for test in version.plan.tests if test.of_a_station}
    if not keys:
        return None
    rows = list(
        Attempt.objects.filter(round__job=job, phase="final", key__in=keys).defer("trace").order_by("pk")
    )
    newest = {row.key: local_day(row.done_at) for row, counts in counting(job, rows) if counts}
    return min(newest.values(), default=None)


def mistrusted(rows: list[Attempt]) -> set[int]:
    """Attempts whose instrument was found bad since, on a day on which it may have been bad already."""
    used = {row.instrument_id for row in rows if row.instrument_id}
    bad = list(BadPeriod.objects.filter(instrument__in=used)) if used else []
    here = zone() if bad else None
    return {
        row.pk
        for row in rows
        for each in bad
        if row.instrument_id == each.instrument_id
        and each.from_day <= row.done_at.astimezone(here).date() <= each.to_day
        and row.done_at <= each.at
    }


def tested_anew(rows: list[Attempt]) -> set[int]:
    """Final attempts with an instrument that was found bad since, after which the test was done again with a good one."""
    bad = mistrusted(rows)
    good = [row for row in rows if row.phase == "final" and row.pk not in bad]
    return {
        row.pk
        for row in rows
        if row.pk in bad and row.phase == "final"
        if any(each.key == row.key and each.pk > row.pk for each in good)
    }


def _upset(rows: list[Attempt]) -> set[int]:
    """Attempts beside which an item was worked on since."""
    uids = {each["job"] for row in rows for each in row.beside if each["job"]}
    if not uids:
        return set()
    worked = {str(uid): n for uid, n in Job.objects.filter(uid__in=uids).values_list("uid", "worked")}
    return {
        row.pk
        for row in rows
        for each in row.beside
        if each["job"] and worked.get(each["job"]) != each["worked"]
    }


def paired(job: Job) -> tuple[Refusal, ...]:
    """What was serviced leaves only while the tests beside other items still count."""
    if job.leg != Leg.SIGNED_OFF or job.outcome != Outcome.SERVICED:
        return ()
    rows = attempts(job)
    upset = _upset([row for row in rows if row.phase == "final"])
    return tuple(
        Refusal(
            "partner-worked-on", f"{asked.title}: the item beside it was worked on since; test them again."
        )
        for asked in job.plan.tests
        if any(row.pk in upset for row in rows if row.key == asked.key)
        and not any(row.pk not in upset for row in rows if row.key == asked.key and row.phase == "final")
    )


def seen_as_received(job: Job) -> tuple[Refusal, ...]:
    """Gear that comes back after an earlier job is tested as received before anything is loosened."""
    if job.follows_id is None or not job.plan.tests:
        return ()
    if Attempt.objects.filter(round__job=job, phase="as received").exists():
        return ()
    said = "It came back after an earlier job: test it as received before anything is loosened."
    return (Refusal("not-as-received", said),)


def as_tried(job: Job, rows: list[Attempt]) -> list[Tried]:
    """The attempts as the rules look at them."""
    return [Tried(row.key, row.phase, row.verdict, counts) for row, counts in counting(job, rows)]


def tested(job: Job) -> tuple[Refusal, ...]:
    """Tests whose final verdict is missing or not within."""
    return tuple(untested(job.plan, as_tried(job, attempts(job))))


def typed(row: Attempt) -> list[tuple[str, str]]:
    """What was typed for a method that asks for figures, by its labels."""
    method, functions = METHODS.get(row.result["method"]), row.result.get("functions")
    known = method.asks if method else ()
    if functions:
        known = function_list.asks(Function(**each) for each in functions)
    return [(ask.label, row.figures[ask.key]) for ask in known if ask.key in row.figures]


def listed(result: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """What was decided of each function of a list, in the plan's order; what is not fitted stands among the warnings."""
    found, functions = result["decisions"], result.get("functions", ())
    return [found[each["key"]] for each in functions if each["key"] in found]


def ruler(record: dict[str, Any], value: str, low: str, high: str, unit: str) -> Ruler:
    """A value with its interval against a stored limit."""
    limit = limit_from(record).to(unit)
    return interval_ruler(Decimal(value), Decimal(low), Decimal(high), limit.low, limit.high, unit=unit)


BATCH = 20


def every_attempt() -> Iterator[Attempt]:
    """All attempts ever stored with their jobs, oldest first, a few in memory at a time.

    Each batch is a query that ends: a cursor left open would block whoever writes on SQLite meanwhile.
    """
    last = 0
    while rows := list(
        Attempt.objects.filter(pk__gt=last).select_related("round__job").order_by("pk")[:BATCH]
    ):
        yield from rows
        last = rows[-1].pk


def recomputed(row: Attempt) -> list[Difference]:
    """What the present methods would make otherwise of a stored attempt; its limits and its instrument as stored."""
    try:
        result, picture = _again(row)
    except (ValueError, TypeError, LookupError, ArithmeticError) as error:
        # Whatever stands in one row, the others are looked at too.
        said = f"{type(error).__name__}: {error}"
        return [Difference("verdict", row.verdict, f"none, it can no longer be computed ({said})")]
    was = {"recorded verdict": row.verdict, "picture": row.picture} | row.result
    return judging.differences(was, {"recorded verdict": result["verdict"], "picture": picture} | result)


def _again(row: Attempt) -> tuple[dict[str, Any], dict[str, Any] | None]:
    result = row.result
    method = METHODS[result["method"]]
    found = result["verdict"] if method.takes == "finding" else ""
    given = Given(row.reading, row.unit, stored_trace(row), found, row.figures)
    if "functions" in result:
        functions = [Function(**each) for each in result["functions"]]
        facts = {key: instrument_from(each) for key, each in result["instruments"].items()}
        method = replace(method, judge=function_list.bound(functions, facts))
    known = result.get("instrument")
    limits = [limit_from(each) for each in result["limits"]]
    record, picture, _ = judging.judge(method, given, limits, instrument_from(known) if known else None)
    return record, picture
