"""Call a step done."""

from django.db import transaction

from jobs.flow.actions import locked, present_round
from jobs.flow.models import Job
from jobs.flow.reads import backs
from jobs.worksheet.models import StepDone
from jobs.worksheet.reads import done_steps
from jobs.worksheet.rules import counting_refusals, doing_refusals
from shop.instruments.models import Instrument
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require
from shop.staff.rules import Can
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, refuse


def do_step(
    *, by: Person, job: Job, key: str, counted: int | None, torque_n_m: str, wrench: Instrument | None
) -> StepDone:
    """Call a step done: on its leg, by somebody authorised, with every loose part counted."""
    require(by, Can.WORK)
    with transaction.atomic():
        job = locked(job)
        round_ = present_round(job)
        step = job.plan.step(key)
        if step is None:
            refuse([Refusal("no-such-step", f"The plan has no step {key}.")])
        assert step is not None
        done = done_steps(job)
        scope, refusals = authorisation_for(by, job.item.model)
        refuse(
            [
                *refusals,
                *doing_refusals(job.plan, step, job.leg, done, torque_n_m),
                *counting_refusals(job.plan, step, counted),
                *_wrench_refusals(step.torque_n_m, wrench),
            ]
        )
        instant = now()
        row = StepDone.objects.create(
            round=round_,
            key=key,
            backs=len(backs(job)),
            counted=counted,
            torque_n_m=torque_n_m,
            wrench=wrench,
            authorisation=scope,
            done_at=instant,
            done_by=by,
            recorded_at=instant,
            recorded_by=by,
        )
        used = str(wrench.uid) if wrench else ""
        facts = {"step": key, "counted": counted, "torque_n_m": torque_n_m, "wrench": used}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="step done", facts=facts)
    return row


def _wrench_refusals(asked: str, wrench: Instrument | None) -> list[Refusal]:
    """A torque is read off a torque wrench in calibration."""
    if not asked:
        return [Refusal("wrench-unasked", "This step has no torque.", "wrench")] if wrench else []
    if wrench is None or wrench.kind != "torque wrench":
        return [Refusal("wrench-missing", "Name the torque wrench that was used.", "wrench")]
    if not wrench.calibration_on(today()):
        return [Refusal("wrench-not-calibrated", f"{wrench.code} is not in calibration today.", "wrench")]
    return []
