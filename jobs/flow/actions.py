"""Open drop-offs, lines and jobs; move a job; write custody. The lock order stands in DEVELOPERS.md."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db import transaction

from jobs.flow.models import Custody, DropOff, Job, Line, Move, Round
from jobs.flow.rules import ENDED, Facts, Leg, move_refusals
from shop.catalogue.models import PlanVersion
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import next_number
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, Stale, merged_refusals, refuse


def open_drop_off(*, by: Person, customer: Customer, promised_on: date) -> DropOff:
    """A new drop-off under the next ticket number, in the caller's transaction."""
    return DropOff.objects.create(
        number=next_number("drop_off"), customer=customer, promised_on=promised_on, at=now(), by=by
    )


def open_line(
    *, by: Person, drop_off: DropOff, n: int, item: Item, words: str, condition: str, contents: str
) -> Line:
    """A line of a drop-off, taken into our custody, in the caller's transaction."""
    line = Line.objects.create(
        drop_off=drop_off, n=n, item=item, words=words, condition=condition, contents=contents
    )
    Custody.objects.create(line=line, holder="the workshop", at=now(), by=by)
    return line


def open_job(*, by: Person, line: Line, item: Item, plan_version: PlanVersion, promised_on: date) -> Job:
    """A job with its first round for an item that has no open one, in the caller's transaction."""
    refuse(merged_refusals(Item.objects.select_for_update().get(pk=item.pk), f"lines-{line.n - 1}-item"))
    if Job.objects.filter(item=item).exclude(leg__in=ENDED).exists():
        refuse([Refusal("open-job", f"{item.label} has an open job already.", f"lines-{line.n - 1}-item")])
    if plan_version.model_id != item.model_id:
        refuse(
            [
                Refusal(
                    "wrong-plan",
                    f"This plan is for another model than {item.label}, {item.title}.",
                    f"lines-{line.n - 1}-plan",
                )
            ]
        )
    job = Job.objects.create(
        number=next_number("job"),
        line=line,
        drop_off=line.drop_off,
        item=item,
        plan_version=plan_version,
        promised_on=promised_on,
    )
    Round.objects.create(job=job, n=1)
    facts = {"item": str(item.uid), "drop_off": line.drop_off.label, "plan": str(plan_version.uid)}
    write(subject=f"job:{job.uid}", by=str(by.uid), verb="checked in", facts=facts)
    return job


def locked(job: Job, seen: int | None = None) -> Job:
    """The job's row, locked and fresh; Stale when the caller saw another version."""
    Job.objects.select_for_update(of=("self",)).get(pk=job.pk)
    row = Job.objects.select_related(
        "item__model",
        "item__owner",
        "plan_version__model",
        "technician",
        "line__drop_off",
        "drop_off__customer",
    ).get(pk=job.pk)
    if seen is not None and row.version != seen:
        raise Stale(row.version)
    return row


def present_round(job: Job) -> Round:
    """The round that is being worked on."""
    return Round.objects.filter(job=job).order_by("-n")[0]


def give(*, by: Person, job: Job, technician: Person) -> Job:
    """Put a locked job into a technician's hands; `planning` decides whether it may be."""
    job.technician = technician
    job.version += 1
    job.save(update_fields=["technician", "version"])
    write(
        subject=f"job:{job.uid}", by=str(by.uid), verb="assigned", facts={"technician": str(technician.uid)}
    )
    return job


def confirm_empty(*, by: Person, job: Job) -> Job:
    """Confirm by name that gear which came under pressure is empty."""
    require(by, Can.WORK)
    with transaction.atomic():
        job = locked(job)
        if job.leg not in (Leg.CHECKED_IN, Leg.CLEARED):
            refuse([Refusal("too-late", "Gear is confirmed empty before anything is loosened.")])
        if job.line.contents != "under pressure" or job.line.emptied_by_id:
            refuse(
                [
                    Refusal(
                        "not-under-pressure",
                        "This gear is not under pressure, or was confirmed empty before.",
                    )
                ]
            )
        Line.objects.filter(pk=job.line_id).update(emptied_by=by, emptied_at=now())
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="confirmed empty")
        job.line.refresh_from_db()
    return job


def move(*, by: Person, job: Job, to: str, reason: str, facts: Facts, closing: bool = False) -> Job:
    """Move a locked job when its facts allow it. Only `advance` calls this."""
    legs: Sequence[str] = job.plan.legs
    refuse(move_refusals(legs, job.leg, to, reason, facts, closing=closing))
    back = legs.index(to) < legs.index(job.leg)
    Move.objects.create(
        job=job,
        round=present_round(job),
        from_leg=job.leg,
        to_leg=to,
        back=back,
        reason=reason,
        at=now(),
        by=by,
    )
    told: dict[str, Any] = {"from": job.leg, "to": to}
    write(
        subject=f"job:{job.uid}",
        by=str(by.uid),
        verb="moved",
        facts=told,
        words={"reason": reason} if reason else None,
    )
    job.leg = Leg(to)
    job.version += 1
    job.save(update_fields=["leg", "version"])
    return job


def close_round(*, job: Job, outcome: str) -> None:
    """Write the outcome into a locked job's present round; only sign-off decides it and journals it."""
    Round.objects.filter(pk=present_round(job).pk).update(outcome=outcome)


def hand_over(*, by: Person, line: Line, holder: str) -> Custody:
    """Custody of a line passes to somebody else, in the caller's transaction."""
    return Custody.objects.create(line=line, holder=holder, at=now(), by=by)
