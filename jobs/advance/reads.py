"""A job's work sheet, gathered from the rooms below for the page."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django.db.models import Q, QuerySet

from jobs.bench.methods import METHODS
from jobs.bench.methods.published_limits import published_for
from jobs.bench.methods.records import estimate_from, limit_from, unlimited
from jobs.bench.models import Attempt
from jobs.bench.reads import as_tried, attempts, counting, listed, ruler, seen_as_received, typed
from jobs.bench.rules import NO_ACCURACY, Tried, bound_of, knows_accuracy, signs, test_refusals
from jobs.condition.reads import looks
from jobs.estimates.reads import covered
from jobs.flow import reads as flow
from jobs.flow.models import Job, Move
from jobs.flow.rules import ENDED, WORKING, Contents, Leg, following, held_refusals
from jobs.planning.reads import technician
from jobs.tray.reads import ended_parts
from jobs.tray.rules import OUT, Origin
from jobs.worksheet.models import StepDone
from jobs.worksheet.reads import as_done, done_steps
from jobs.worksheet.rules import open_steps, still_in
from shop.advice.reads import causes
from shop.alternatives.reads import places_of
from shop.catalogue.rules import BenchTest, LoosePart, Plan, Step
from shop.files.models import Photograph
from shop.files.reads import MOST_SHOWN, photographs
from shop.gear.models import Item
from shop.gear.reads import companions
from shop.instruments.models import Instrument
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.workshop.rules import Refusal


def sheet(job: Job, person: Person, chosen: str) -> dict[str, Any]:
    """Everything the work sheet shows; `chosen` is the key of a step that was asked for."""
    plan, done, ended = job.plan, done_steps(job), ended_parts(job)
    step = plan.step(chosen) or _present_step(plan, job, done)
    to, tests, tray = following(job.legs, job.leg), _tests(job), _tray(plan, done, ended, job)
    inside = still_in(plan, as_done(done))
    return {
        "job": job,
        "plan": plan,
        "steps": [_step_row(plan, each, done, step) for each in plan.steps],
        "step": _step_shown(plan, step, done, job) if step else None,
        "wrenches": Instrument.objects.filter(kind="torque wrench").order_by("code"),
        "tray": tray,
        "awaits_lot": bool(_waiting(tray)),
        "use": flow.use_of_job(job),
        "pieces": sum(each["part"].pieces or 1 for each in tray),
        "loose": sum(each["part"].pieces or 1 for each in tray if each["open"]),
        "apart": job.leg in OUT,
        "open_parts": sum(1 for part in plan.parts if part.key not in ended and part.key not in inside),
        "tests": tests,
        "first_open_test": next((each["test"].key for each in tests if each["open"]), ""),
        "to": to,
        "to_label": (to or "").replace("_", " "),
        "ready_to_sign": to == Leg.SIGNED_OFF,
        "may_go_on": person.may(Can.MOVE) and (to not in WORKING or person.may(Can.WORK)),
        "may_go_back": job.leg not in ENDED and any(leg in earlier(job) for leg in WORKING),
        "may": {right.name.lower(): person.may(right) for right in Can},
        "holds": job.open_holds,
        "present": flow.at_hand(job.line),
        "waits": waits(job),
        "under_pressure": bool(flow.emptied(job)) and job.line.contents == Contents.UNDER_PRESSURE,
        "not_looked_into": job.line.contents == Contents.UNKNOWN,
        "once": uuid4(),
        "photographs": photographs_shown(job),
        "looks": looks().filter(line=job.line_id),
        "moves": Move.objects.filter(job=job).select_related("by").order_by("pk"),
    }


def rows(job: Job) -> dict[str, Any]:
    """The work sheet as the API shows it."""
    plan, done, ended = job.plan, done_steps(job), ended_parts(job)
    tried = attempts(job)
    open_tests = {test.key for test in plan.tests if test_refusals(test, as_tried(job, tried))}
    use = flow.use_of_job(job)
    return {
        "gas": use.gas,
        "gas_rule": use.rule,
        "steps": [
            {
                "n": plan.position(step),
                "key": step.key,
                "leg": step.leg,
                "title": step.title,
                "loose_parts": sum(part.pieces for part in plan.freed(step)),
                "torque_n_m": step.torque_n_m,
                "when": step.when,
                "choice": step.choice,
                "done": done.get(step.key),
            }
            for step in plan.steps
        ],
        "parts": [
            {
                "key": part.key,
                "name": part.name,
                "count": part.count,
                "unit": part.unit,
                "renew": part.renew,
                "ended": ended.get(part.key),
            }
            for part in plan.parts
        ],
        "tests": [
            {
                "key": test.key,
                "title": test.title,
                "method": test.method,
                "needs": test.needs,
                "partner": test.partner,
                "of_set": test.of_set,
                "attempts": [row for row in tried if row.key == test.key],
                "open": test.key in open_tests,
            }
            for test in plan.tests
        ],
    }


def earlier(job: Job) -> tuple[str, ...]:
    """The legs behind a job, to which it may go back if they are working legs."""
    legs = job.legs
    return legs[: legs.index(job.leg)]


def photographs_of(job: Job) -> QuerySet[Photograph]:
    """The photographs of a job, of its steps, and of its gear as it came."""
    steps = (f"step:{job.uid}:{step.key}" for step in job.plan.steps)
    return photographs([f"job:{job.uid}", f"line:{job.line.uid}", *steps])


def photographs_shown(job: Job) -> list[Photograph]:
    """The newest of them, each with what it shows: a step, or the gear as it came."""
    found = list(photographs_of(job).order_by("-pk")[:MOST_SHOWN])
    for row in found:
        step = job.plan.step(row.subject.rpartition(":")[2])
        row.of = f"Step {job.plan.position(step)}, {step.title}" if step else ""
        if row.subject.startswith("line:"):
            row.of = "As it came"
    return found


def _present_step(plan: Plan, job: Job, done: dict[str, StepDone]) -> Step | None:
    """The first open step of the leg the job is on."""
    known = as_done(done)
    return next((step for step in plan.steps if open_steps(plan, known, [job.leg], only=step)), None)


def _step_row(plan: Plan, step: Step, done: dict[str, Any], present: Step | None) -> dict[str, Any]:
    return {
        "key": step.key,
        "title": step.title,
        "done": step.key in done,
        "omitted": step.key in done and bool(done[step.key].omitted),
        "present": step is present,
        "count": sum(part.pieces for part in plan.freed(step)),
        "torque": step.torque_n_m,
    }


def _step_shown(plan: Plan, step: Step, done: dict[str, Any], job: Job) -> dict[str, Any]:
    freed = [part for part in plan.freed(step) if part.pieces]
    names = [part.spoken for part in freed]
    return {
        "step": step,
        "n": plan.position(step),
        "of": len(plan.steps),
        "row": done.get(step.key),
        "expected": sum(part.pieces for part in freed),
        "names": ", ".join(names[:-1]) + " or " + names[-1] if len(names) > 1 else "".join(names),
        "now": step.leg == job.leg and step.key not in done,
    }


def _tray(plan: Plan, done: dict[str, Any], ended: dict[str, Any], job: Job) -> list[dict[str, Any]]:
    """The loose parts whose step is done, in the order of the sheet."""
    out = job.leg in (Leg.STRIPPING, Leg.CLEANING)
    found = []
    for step in plan.steps:
        if step.key in done and not done[step.key].omitted:
            for part in plan.freed(step):
                row = ended.get(part.key)
                vacant = row is not None and row.origin == Origin.NOTHING
                at_once = out and row is None and not part.renew
                found.append(
                    {
                        "part": part,
                        "row": row,
                        "vacant": vacant,
                        "open": out and (not row or vacant),
                        "quick": at_once,
                    }
                )
    return found


def next_open_part(job: Job, key: str) -> str:
    """The key of the loose part to account for after another: the next in the tray without an end, else the first."""
    tray = _tray(job.plan, done_steps(job), ended_parts(job), job)
    keys = [each["part"].key for each in tray]
    at = keys.index(key) + 1 if key in keys else 0
    return next(
        (each["part"].key for each in [*tray[at:], *tray[:at]] if each["open"] and not each["row"]), ""
    )


def waiting_for(job: Job, number: str) -> tuple[str, list[Refusal]]:
    """The key of the part in the tray that waits for a new one with a number, or for one in whose place that may go.

    Else why none does; where the plan has no such part, the key of the first that waits for another.
    """
    ended, places = ended_parts(job), places_of(number)
    waits = _waiting(_tray(job.plan, done_steps(job), ended, job))
    for fits in ({number}, places):
        for part in waits:
            if part.renew in fits:
                return part.key, []
    meant = [part for part in job.plan.parts if part.renew in {number, *places}]
    if meant:
        part = min(meant, key=lambda each: each.key in ended)
        return "", _no_wait_refusals(part.name, ended[part.key].told if part.key in ended else "")
    if waits:
        return waits[0].key, []
    return "", [Refusal("nothing-waits", "No part in this tray waits for a new one now.", "lot")]


def _no_wait_refusals(name: str, ended: str) -> list[Refusal]:
    """Why a part that a scanned lot is meant for does not wait for it; `ended` says its end, empty where it has none."""
    if ended:
        said = f"{name} has its end already: {ended}. If that is wrong, correct it and say why."
        return [Refusal("ended-before", said, "lot")]
    return [Refusal("not-out", f"{name} is not out yet: first do the step that takes it out.", "lot")]


def _waiting(tray: list[dict[str, Any]]) -> list[LoosePart]:
    """The parts of a tray that are to be renewed and have no end yet."""
    return [each["part"] for each in tray if each["open"] and not each["row"] and each["part"].renew]


def _tests(job: Job) -> list[dict[str, Any]]:
    rows = counting(job, attempts(job))
    tried = [Tried(row.key, row.phase, row.verdict, counts) for row, counts in rows]
    return [
        {
            "test": each,
            "attempts": [(row, counts) for row, counts in rows if row.key == each.key],
            "open": bool(test_refusals(each, tried)),
        }
        for each in job.plan.tests
    ]


def next_test(job: Job, key: str) -> BenchTest | None:
    """The first open test after one of a job, else the first open one; this one again comes last."""
    rows = _tests(job)
    at = next((n for n, each in enumerate(rows, start=1) if each["test"].key == key), 0)
    return next((each["test"] for each in [*rows[at:], *rows[:at]] if each["open"]), None)


def waits(job: Job) -> list[Refusal]:
    """What keeps a job from going on whatever is done on its sheet."""
    found = [*held_refusals(flow.held(job), following(job.legs, job.leg) or ""), *flow.withdrawn(job)]
    if job.leg == Leg.CHECKED_IN:
        return [*found, *flow.facts(job), *covered(job)]
    found += [*flow.unfit_plan(job), *flow.here(job)]
    if job.leg == Leg.CLEARED:
        found += [*technician(job), *flow.emptied(job), *seen_as_received(job)]
    return found


def quantities(asked: BenchTest | None, result: Mapping[str, Any], unit: str = "") -> list[dict[str, Any]]:
    """What a method's record says of each of its limits, with sentences and rulers; `unit` is that of a reading."""
    shown = []
    bounds = {bound.quantity: bound for bound in asked.bounds} if asked else {}
    for limit in result["limits"]:
        bound = bounds.get(limit["quantity"]) or bound_of(limit_from(limit))
        decision = result["decisions"].get(bound.quantity)
        estimate = estimate_from(result, bound.quantity)
        drawn = ruler(limit, *estimate, unit or bound.unit) if estimate and estimate[1] else None
        shown.append({"bound": bound, "decision": decision, "estimate": estimate, "ruler": drawn})
    return shown


def judged(job: Job, row: Attempt) -> dict[str, Any]:
    """The quantities of an attempt with their limits, sentences and rulers."""
    asked = job.plan.test(row.key)
    shown = quantities(asked, row.result, row.unit)
    method = METHODS.get(row.result["method"])
    published = published_for(method.quantities) if method else ()
    more = {
        "warnings": row.result["warnings"],
        "typed": typed(row),
        "listed": listed(row.result),
        "said": _said(row.result),
        "published": published,
        "rest": unlimited(row.result),
        "causes": causes(signs(row.result, row.key), job.item.model.kind),
        "traced": bool(method and method.logged),
        "no_accuracy": "" if knows_accuracy(row.result) else NO_ACCURACY,
    }
    return {"asked": asked, "quantities": shown} | more


def _said(record: dict[str, Any]) -> list[str]:
    """What was decided without a figure: two threads, an odour."""
    figured = {limit["quantity"] for limit in record["limits"]}
    figured |= {each["key"] for each in record.get("functions", ())}
    return [each["sentence"] for name, each in record["decisions"].items() if name not in figured]


def partners(job: Job, asked: BenchTest | None) -> list[tuple[Any, str]]:
    """Items of the kind that a test asks for beside this one: its companions first, then what else is here."""
    if asked is None or not asked.partner:
        return []
    near = companions(job.item)
    here = Job.objects.exclude(leg__in=ENDED).values("item")
    rows = Item.objects.filter(Q(pk__in=near) | Q(pk__in=here), model__kind=asked.partner)
    found = rows.exclude(pk=job.item_id).select_related("model").prefetch_related("identifiers")
    return [
        (item.uid, f"{item.label} {item.title} ({item.marks})")
        for item in sorted(found, key=lambda item: (item.pk not in near, item.number))
    ]
