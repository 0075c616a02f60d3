"""Give jobs to technicians; promise a day."""

from datetime import date

from django.db import transaction
from django.db.models import QuerySet

from jobs.flow.actions import give, locked
from jobs.flow.models import DropOff, Job
from jobs.flow.rules import ENDED, WORKING, Leg
from jobs.planning.models import Takeover
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require
from shop.staff.rules import Can
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, refuse


def assign(*, by: Person, job: Job, technician: Person, seen: int, condition: str = "") -> Job:
    """Give a job to somebody who may work and is authorised for its gear today.

    A begun job is taken over with the condition of the gear noted.
    """
    require(by, Can.ASSIGN)
    with transaction.atomic():
        job = locked(job, seen)
        refuse(_refusals(job, technician, condition))
        return _given(by, job, technician, condition)


def give_all(*, by: Person, drop_off: DropOff, technician: Person) -> list[Job]:
    """Give every job of a drop-off that nobody has yet to somebody, all of them or none."""
    require(by, Can.ASSIGN)
    none = Refusal("no-jobs", f"No open job of {drop_off.label} waits for somebody.")
    return _all(by, drop_off.jobs.filter(technician=None), None, technician, "", none)


def hand_on_all(*, by: Person, leaving: Person, technician: Person, condition: str) -> list[Job]:
    """Give every open job of somebody who leaves to somebody else, all of them or none."""
    require(by, Can.ASSIGN)
    none = Refusal("no-jobs", f"No open job is with {leaving.name}.")
    return _all(by, Job.objects.filter(technician=leaving), leaving.pk, technician, condition, none)


def _all(
    by: Person, rows: QuerySet[Job], was_with: int | None, technician: Person, condition: str, none: Refusal
) -> list[Job]:
    """Give what is open of these to somebody; what was given elsewhere at the same moment stays there."""
    with transaction.atomic():
        mine = rows.exclude(leg__in=(*ENDED, Leg.SIGNED_OFF)).order_by("pk")
        jobs = [job for job in map(locked, mine) if job.technician_id == was_with]
        found = [
            Refusal(each.code, f"Tray {job.number}: {each.sentence}", each.pointer)
            for job in jobs
            for each in _refusals(job, technician, condition)
        ]
        refuse(found if jobs else [none])
        return [_given(by, job, technician, condition) for job in jobs]


def _refusals(job: Job, technician: Person, condition: str) -> list[Refusal]:
    found = []
    if job.leg in (*ENDED, Leg.SIGNED_OFF):
        found.append(Refusal("job-closed", "The work on this job is closed."))
    if not technician.may(Can.WORK):
        said = f"{technician.name} does not work at the bench."
        found.append(Refusal("not-a-technician", said, "technician"))
    if job.technician_id == technician.pk:
        found.append(Refusal("with-them", f"It is with {technician.name} already.", "technician"))
    if _taken_over(job) and not condition:
        said = "It was begun: note the condition of the gear as it is taken over."
        found.append(Refusal("condition-missing", said, "condition"))
    _, unauthorised = authorisation_for(technician, job.item.model, oxygen=job.plan.oxygen)
    return [*found, *unauthorised]


def _taken_over(job: Job) -> bool:
    return job.technician is not None and job.leg in WORKING


def _given(by: Person, job: Job, technician: Person, condition: str) -> Job:
    if _taken_over(job):
        assert job.technician is not None
        Takeover.objects.create(
            job=job,
            leg=job.leg,
            was=job.technician,
            now_with=technician,
            condition=condition,
            at=now(),
            by=by,
        )
    return give(by=by, job=job, technician=technician)


def promise(*, by: Person, job: Job, promised_on: date, why: str, seen: int) -> Job:
    """Promise an open job for another day and say why."""
    require(by, Can.PROMISE)
    with transaction.atomic():
        job = locked(job, seen)
        found = []
        if job.leg in ENDED:
            found.append(Refusal("job-ended", "This job has ended."))
        if promised_on < today():
            found.append(Refusal("promise-past", "The promised day has passed already.", "promised_on"))
        refuse(found)
        before, job.promised_on, job.promised_why = job.promised_on, promised_on, why
        job.version += 1
        job.save(update_fields=["promised_on", "promised_why", "version"])
        facts = {"before": str(before), "promised_on": str(promised_on)}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="promised", facts=facts, words={"why": why})
    return job
