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
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can


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
