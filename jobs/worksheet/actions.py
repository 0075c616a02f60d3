"""Call a step done."""

from datetime import datetime

from django.db import transaction

from jobs.flow.actions import locked, present_round, recorded, worked
from jobs.flow.models import Job
from jobs.flow.reads import backs, done_refusals, work_refusals
from jobs.flow.rules import Leg
from jobs.worksheet.models import StepDone
from jobs.worksheet.reads import as_done, done_steps
from jobs.worksheet.rules import counting_refusals, doing_refusals, omitting_refusals, torque_refusals
from shop.catalogue.rules import Plan, Step
from shop.instruments.models import Instrument
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require
from shop.staff.rules import Can
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, refuse


def do_step(
    *,
    by: Person,
    job: Job,
    key: str,
    counted: int | None = None,
    torque_n_m: str = "",
    wrench: Instrument | None = None,
    omitted: str = "",
    noted: str = "",
    done_by: Person | None = None,
    done_at: datetime | None = None,
) -> StepDone:
    """Call a step done: on its leg, by somebody authorised, with every loose part counted; or omitted, with a reason.

    Whoever did it and when may differ from who records it now. `noted` is what was read or counted besides, such as turns.
    """
    require(by, Can.WORK)
    with transaction.atomic():
        job = locked(job)
        step = job.plan.step(key)
        if step is None:
            refuse([Refusal("no-such-step", f"The plan has no step {key}.")])
        assert step is not None
        instant = now()
        who, when = done_by or by, done_at or instant
        scope, refusals = authorisation_for(who, job.item.model, oxygen=job.plan.oxygen)
        refuse(
            [
                *work_refusals(job),
                *refusals,
                *done_refusals(who, when, job),
                *_refusals(
                    job.plan, step, job.leg, as_done(done_steps(job)), counted, torque_n_m, wrench, omitted
                ),
            ]
        )
        row = StepDone.objects.create(
            round=present_round(job), key=key, backs=len(backs(job)), counted=counted, torque_n_m=torque_n_m,
            omitted=omitted, noted=noted, wrench=wrench, authorisation=scope, done_at=when, done_by=who,
            recorded_at=instant, recorded_by=by,
        )  # fmt: skip
        if step.leg != Leg.TESTING:
            worked(job=job)
        used = str(wrench.uid) if wrench else ""
        facts = {"step": key, "counted": counted, "torque_n_m": torque_n_m, "wrench": used}
        facts |= {"done_by": str(who.uid), "done_at": when.isoformat(), "omitted": bool(omitted)}
        verb = "step omitted" if omitted else "step done"
        words = {name: text for name, text in (("why", omitted), ("noted", noted)) if text}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb=verb, facts=facts, words=words)
        recorded(by=by, job=job)
    return row


def _refusals(
    plan: Plan,
    step: Step,
    leg: str,
    done: dict[str, bool],
    counted: int | None,
    torque_n_m: str,
    wrench: Instrument | None,
    omitted: str,
) -> list[Refusal]:
    found = doing_refusals(plan, step, leg, done)
    if omitted:
        return [*found, *omitting_refusals(plan, step, torque_n_m, counted), *_wrench_refusals("", wrench)]
    return [
        *found,
        *torque_refusals(step, torque_n_m),
        *counting_refusals(plan, step, counted),
        *_wrench_refusals(step.torque_n_m, wrench),
    ]


def _wrench_refusals(asked: str, wrench: Instrument | None) -> list[Refusal]:
    """A torque is read off a torque wrench in calibration."""
    if not asked:
        return [Refusal("wrench-unasked", "This step has no torque.", "wrench")] if wrench else []
    if wrench is None or wrench.kind != "torque wrench":
        return [Refusal("wrench-missing", "Name the torque wrench that was used.", "wrench")]
    if fault := wrench.fault_on(today()):
        return [Refusal("wrench-not-calibrated", fault, "wrench")]
    return []
