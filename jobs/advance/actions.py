"""The one place that gathers the facts of a job and moves it."""

from django.db import transaction

from jobs.bench.reads import tested
from jobs.estimates.reads import covered
from jobs.flow import reads as flow
from jobs.flow.actions import locked, move
from jobs.flow.models import Job
from jobs.flow.rules import Facts
from jobs.planning.reads import technician
from jobs.tray.reads import accounted
from jobs.worksheet.reads import finished, stripped
from shop.files.actions import keep_photograph
from shop.files.models import Photograph
from shop.files.reads import Picture
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.rules import Refusal, refuse


def gather(job: Job) -> Facts:
    """What every room knows of a job."""
    return Facts(
        flow=flow.facts(job),
        go_ahead=covered(job),
        technician=technician(job),
        emptied=flow.emptied(job),
        stripped=stripped(job),
        tray=accounted(job),
        steps=finished(job),
        tests=tested(job),
    )


def advance(*, by: Person, job: Job, to: str, seen: int, reason: str) -> Job:
    """Move a job that the caller saw at version `seen`: a leg on, or back with a reason."""
    require(by, Can.MOVE)
    with transaction.atomic():
        return carry(by=by, job=locked(job, seen), to=to, reason=reason)


def carry(
    *, by: Person, job: Job, to: str, reason: str = "", facts: Facts | None = None, closing: bool = False
) -> Job:
    """Move a locked job, with its facts when they are known; sign-off and hand-back come through here too."""
    return move(by=by, job=job, to=to, reason=reason, facts=facts or gather(job), closing=closing)


def photograph_job(*, by: Person, job: Job, photograph: Picture, words: str, step: str) -> Photograph:
    """Keep a photograph of a job, or of one step of it."""
    require(by, Can.WORK)
    with transaction.atomic():
        job = locked(job)
        if step and job.plan.step(step) is None:
            refuse([Refusal("no-such-step", "The plan of this job has no such step.", "step")])
        subject = f"step:{job.uid}:{step}" if step else f"job:{job.uid}"
        chain = f"job:{job.uid}"
        return keep_photograph(by=str(by.uid), subject=subject, chain=chain, picture=photograph, words=words)
