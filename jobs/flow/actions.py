"""Open drop-offs, lines and jobs; move a job; write custody. The lock order stands in DEVELOPERS.md."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.utils.module_loading import import_string

from jobs.flow.models import Custody, DropOff, Hold, Job, Line, Move, Round
from jobs.flow.reads import (
    at_hand,
    drop_off_thing,
    evidence_refusals,
    held,
    job_thing,
    line_thing,
    plans_refusals,
)
from jobs.flow.rules import (
    ENDED,
    OPEN,
    WORKING,
    Contents,
    Facts,
    HoldKind,
    Leg,
    Where,
    contents_refusals,
    custody_refusals,
    held_refusals,
    lifting_refusals,
    move_refusals,
)
from shop.catalogue.models import PlanVersion
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.gear.reads import companions
from shop.journal.actions import Deed, write, write_all
from shop.links.rules import BY_LINK
from shop.search.actions import put, put_all
from shop.staff.models import Person
from shop.staff.reads import require, secret_refusals
from shop.staff.rules import Can
from shop.workshop.actions import next_number, next_numbers
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, Stale, refuse


def open_drop_off(
    *,
    by: Person,
    customer: Customer,
    promised_on: date,
    wanted_on: date | None = None,
    bringer: Customer | None = None,
    payer: Customer | None = None,
    collector: Customer | None = None,
) -> DropOff:
    """A new drop-off under the next ticket number, in the caller's transaction."""
    drop_off = DropOff.objects.create(
        number=next_number("drop_off"),
        customer=customer,
        bringer=bringer,
        payer=payer,
        collector=collector,
        wanted_on=wanted_on,
        promised_on=promised_on,
        at=now(),
        by=by,
    )
    put(thing=drop_off_thing(drop_off))
    return drop_off


def open_lines(*, by: Person, drop_off: DropOff, first: int, given: Sequence[dict[str, Any]]) -> list[Line]:
    """Lines of a drop-off, taken into our custody, in the caller's transaction; their items may come later."""
    rows = [Line(drop_off=drop_off, n=n, **each) for n, each in enumerate(given, start=first)]
    lines = Line.objects.bulk_create(rows)
    here: dict[str, Any] = {"where": Where.HERE, "holder": "the workshop", "at": now(), "by": by}
    Custody.objects.bulk_create([Custody(line=line, **here) for line in lines])
    put_all(things=[line_thing(line) for line in lines])
    return lines


@dataclass(frozen=True)
class Opening:
    """A job to be opened for a line and its item."""

    line: Line
    item: Item
    plans: Sequence[PlanVersion]
    follows: Job | None = None


def open_jobs(*, by: Person, openings: Sequence[Opening], promised_on: date) -> list[Job]:
    """Jobs with their first rounds, in the caller's transaction, which locked the items and asked `job_refusals`."""
    numbers = next_numbers("job", len(openings))
    jobs = Job.objects.bulk_create(
        Job(
            number=number,
            line=each.line,
            drop_off=each.line.drop_off,
            item=each.item,
            plan_version=each.plans[0],
            follows=each.follows,
            promised_on=promised_on,
        )
        for number, each in zip(numbers, openings, strict=True)
    )
    opened = list(zip(jobs, openings, strict=True))
    more = [(job, plan) for job, each in opened for plan in each.plans[1:]]
    if more:
        pinned = Job.more_plans.through
        pinned.objects.bulk_create(pinned(job=job, planversion=plan) for job, plan in more)
    Round.objects.bulk_create(Round(job=job, n=1) for job in jobs)
    put_all(things=[job_thing(job) for job in jobs])
    deeds = []
    for job, each in opened:
        facts: dict[str, Any] = {"item": str(job.item.uid), "drop_off": job.drop_off.label}
        facts["plans"] = [str(plan.uid) for plan in each.plans]
        facts["follows"] = str(each.follows.uid) if each.follows else ""
        deeds.append(Deed(f"job:{job.uid}", str(by.uid), "checked in", facts))
    write_all(deeds=deeds)
    return jobs


def add_plan(*, by: Person, job: Job, plan: PlanVersion, seen: int) -> Job:
    """Put one more plan on an open job; its price counts from now on and its steps stand open."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        job = locked(job, seen)
        found = plans_refusals(job.item, [*job.plans, plan], "plan")
        if job.leg in (Leg.SIGNED_OFF, *ENDED):
            found.append(Refusal("job-closed", "The work on this job is closed."))
        refuse(found)
        job.more_plans.add(plan)
        job.version += 1
        job.save(update_fields=["version"])
        facts = {"plan": str(plan.uid)}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="plan added", facts=facts)
        return locked(job)


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
        "follows",
    ).get(pk=job.pk)
    if seen is not None and row.version != seen:
        raise Stale(row.version)
    return row


def present_round(job: Job) -> Round:
    """The round that is being worked on."""
    return Round.objects.filter(job=job).order_by("-n")[0]


def worked(*, job: Job) -> None:
    """The gear of a locked job was worked on: a test of another item beside it, recorded before, stops counting."""
    Job.objects.filter(pk=job.pk).update(worked=F("worked") + 1)


def give(*, by: Person, job: Job, technician: Person) -> Job:
    """Put a locked job into a technician's hands; `planning` decides whether it may be."""
    job.technician = technician
    job.version += 1
    job.save(update_fields=["technician", "version"])
    write(
        subject=f"job:{job.uid}", by=str(by.uid), verb="assigned", facts={"technician": str(technician.uid)}
    )
    return job


def note_contents(*, by: Person, job: Job, contents: str, gas: str, pressure: str, pressure_unit: str) -> Job:
    """Write down what is inside gear that nobody had looked at when it came in."""
    require(by, Can.MOVE)
    with transaction.atomic():
        job = locked(job)
        kept = held_refusals(held(job), Leg.STRIPPING, evidence_only=True)
        refuse([*kept, *contents_refusals(job.line.contents, contents, job.leg)])
        told = {"contents": contents, "gas": gas, "pressure": pressure, "pressure_unit": pressure_unit}
        Line.objects.filter(pk=job.line_id).update(**told)
        words = {"gas": told.pop("gas")} if gas else {}  # as somebody typed it
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="contents noted", facts=told, words=words)
        job.line.refresh_from_db()
    return job


def confirm_empty(*, by: Person, job: Job) -> Job:
    """Confirm by name that gear which came under pressure is empty."""
    require(by, Can.WORK)
    with transaction.atomic():
        job = locked(job)
        found = held_refusals(held(job), Leg.STRIPPING, evidence_only=True)
        if job.leg in (*WORKING, *ENDED):
            found.append(Refusal("too-late", "Gear is confirmed empty before anything is loosened."))
        if job.line.contents != Contents.UNDER_PRESSURE or job.line.emptied_by_id:
            said = "This gear is not under pressure, or was confirmed empty before."
            if job.line.contents == Contents.UNKNOWN:
                said = "Nobody has noted yet whether there is gas inside: note that first."
            found.append(Refusal("not-under-pressure", said))
        refuse(found)
        Line.objects.filter(pk=job.line_id).update(emptied_by=by, emptied_at=now())
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="confirmed empty")
        job.line.refresh_from_db()
    return job


def move(*, by: Person, job: Job, to: str, reason: str, facts: Facts, closing: bool = False) -> Job:
    """Move a locked job when its facts allow it; leaving signed off backwards opens the next round.

    Only `advance` calls this.
    """
    legs: Sequence[str] = job.plan.legs
    refuse(move_refusals(legs, job.leg, to, reason, facts, closing=closing))
    back = to in legs and legs.index(to) < legs.index(job.leg)
    round_ = present_round(job)
    if back and job.leg == Leg.SIGNED_OFF:
        round_ = Round.objects.create(job=job, n=round_.n + 1)
    Move.objects.create(
        job=job, round=round_, from_leg=job.leg, to_leg=to, back=back, reason=reason, at=now(), by=by
    )
    told: dict[str, Any] = {"from": job.leg, "to": to, "round": round_.n}
    write(
        subject=f"job:{job.uid}",
        by=str(by.uid),
        verb="moved",
        facts=told,
        words={"reason": reason} if reason else None,
    )
    job.leg = Leg(to)
    job.version += 1
    job.worked += back
    job.save(update_fields=["leg", "version", "worked"])
    return job


def recorded(*, by: Person, job: Job) -> None:
    """Let the rooms above see that work was recorded on a locked job, in the caller's transaction."""
    for name in settings.AFTER_RECORDING:
        import_string(name)(by=by, job=job)


def close_round(*, job: Job, outcome: str) -> None:
    """Write the outcome into a locked job's present round; only sign-off decides it and journals it."""
    Round.objects.filter(pk=present_round(job).pk).update(outcome=outcome)


def hold(*, by: Person, job: Job, kind: str, why: str) -> Hold:
    """Hold a job; doubts and notices put their own holds."""
    require(by, Can.HOLD)
    with transaction.atomic():
        job = locked(job)
        found = []
        if kind in (HoldKind.DOUBT, HoldKind.NOTICE):
            found.append(Refusal("by-itself", f"A {kind} puts its own hold: raise the {kind}.", "kind"))
        if job.leg in ENDED:
            found.append(Refusal("job-ended", "This job has ended."))
        refuse(found)
        return put_hold(by=by, job=job, kind=kind, why=why)


def put_hold(*, by: Person, job: Job, kind: str, why: str, cause: str = "") -> Hold:
    """A hold on a locked job, once a cause, in the caller's transaction."""
    told = {"kind": kind, "cause": cause}
    standing = Hold.objects.filter(job=job, cause=cause, lifted_at=None).first() if cause else None
    if standing:
        return standing
    row = Hold.objects.create(job=job, kind=kind, why=why, cause=cause, at=now(), by=by)
    _changed(job)
    write(
        subject=f"job:{job.uid}", by=str(by.uid), verb="held", facts=told | {"hold": str(row.uid)},
        words={"why": why},
    )  # fmt: skip
    return row


def locked_with_work(*, item: Item) -> Item:
    """An item, locked after the drop-offs and open jobs in which it or its set stands: what is being recorded there ends first."""
    those = [item.pk, *companions(item)]
    lines = Line.objects.filter(item__in=those).values("drop_off")
    list(DropOff.objects.select_for_update().filter(pk__in=lines).order_by("pk"))
    list(Job.objects.select_for_update().filter(item__in=those, leg__in=OPEN).order_by("pk"))
    list(Item.objects.select_for_update().filter(pk__in=those).order_by("pk"))
    return Item.objects.get(pk=item.pk)


def hold_evidence(*, by: Person, item: Item, why: str, told: dict[str, Any], words: dict[str, str]) -> Hold:
    """Keep an item, locked with its work, as evidence, with or without a job; in the caller's transaction."""
    row = Hold.objects.create(item=item, kind=HoldKind.EVIDENCE, why=why, at=now(), by=by)
    facts = {"hold": str(row.uid), "kind": "evidence"} | told
    write(subject=f"item:{item.uid}", by=str(by.uid), verb="held", facts=facts, words={"why": why} | words)
    return row


def lift(*, by: Person, hold: Hold, why: str, second: Person | None = None, second_secret: str = "") -> Hold:
    """Lift a hold and say why; evidence is released by the lead and a second person with their signing secret."""
    require(by, Can.LIFT_EVIDENCE if hold.kind == HoldKind.EVIDENCE else Can.HOLD)
    second = second if hold.kind == HoldKind.EVIDENCE else None
    with transaction.atomic():
        if hold.job_id:
            locked(Job(pk=hold.job_id))
        else:
            Item.objects.select_for_update().get(holds=hold)
        hold = Hold.objects.select_for_update(of=("self",)).select_related("job", "item").get(pk=hold.pk)
        asked = hold.kind == HoldKind.CUSTOMER and bool(hold.cause)
        other = second.pk if second else None
        found = lifting_refusals(hold.kind, hold.lifted_at is not None, by.pk, other, asked=asked)
        refuse([*found, *(secret_refusals(second, second_secret, "second_secret") if second else [])])
        return let_go(by=by, hold=hold, why=why, second=second)


def let_go(*, by: Person | None, hold: Hold, why: str, second: Person | None = None) -> Hold:
    """Lift a hold whose job or item the caller has locked, in the caller's transaction; by nobody: a customer by link."""
    hold.lifted_at, hold.lifted_by, hold.lifted_second, hold.lifted_why = now(), by, second, why
    hold.save(update_fields=["lifted_at", "lifted_by", "lifted_second", "lifted_why"])
    if hold.job:
        _changed(hold.job)
    subject = f"job:{hold.job.uid}" if hold.job else f"item:{hold.item.uid}"  # type: ignore[union-attr]  # one is set
    facts = {"hold": str(hold.uid), "kind": hold.kind, "second": str(second.uid) if second else ""}
    who = str(by.uid) if by else BY_LINK
    write(subject=subject, by=who, verb="hold lifted", facts=facts, words={"why": why})
    return hold


def _changed(job: Job) -> None:
    """Whoever looks at the job now sees an old version of it."""
    Job.objects.filter(pk=job.pk).update(version=F("version") + 1)


def hand_over(
    *,
    by: Person,
    line: Line,
    where: str,
    holder: str,
    seal: str = "",
    why: str = "",
    corrects: Custody | None = None,
) -> Custody:
    """Custody of a line passes on, in the caller's transaction."""
    return Custody.objects.create(
        line=line, where=where, holder=holder, seal=seal, why=why, corrects=corrects, at=now(), by=by
    )


def pass_on(
    *, by: Person, line: Line, where: str, holder: str, seal: str, why: str, corrects: bool = False
) -> Custody:
    """Send a line's gear to an outside station, take it back in, shelve it; or correct where it really is."""
    require(by, Can.KEEP_CUSTODY)
    with transaction.atomic():
        DropOff.objects.select_for_update().get(pk=line.drop_off_id)
        present = at_hand(line)
        stopped = evidence_refusals([line.item_id]) if line.item_id and where != present.where else []
        refuse([*stopped, *custody_refusals(present.where, where, why, corrects=corrects)])
        row = hand_over(
            by=by, line=line, where=where, holder=holder, seal=seal, why=why,
            corrects=present if corrects else None,
        )  # fmt: skip
        facts = {
            "line": line.tag,
            "where": where,
            "seal": seal,
            "corrects": str(present.uid) if corrects else "",
        }
        write(
            subject=f"drop-off:{line.drop_off.uid}", by=str(by.uid), verb="custody", facts=facts,
            words={"holder": holder, "why": why},
        )  # fmt: skip
    return row
