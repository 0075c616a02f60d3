"""Give a job to a technician."""

from django.db import transaction

from jobs.flow.actions import give, locked
from jobs.flow.models import Job
from jobs.flow.rules import ENDED, Leg
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require
from shop.staff.rules import Can
from shop.workshop.rules import Refusal, refuse


def assign(*, by: Person, job: Job, technician: Person, seen: int) -> Job:
    """Give a job to somebody who may work and is authorised for its gear today."""
    require(by, Can.ASSIGN)
    with transaction.atomic():
        job = locked(job, seen)
        found = []
        if job.leg in (*ENDED, Leg.SIGNED_OFF):
            found.append(Refusal("job-closed", "The work on this job is closed."))
        if not technician.may(Can.WORK):
            found.append(
                Refusal("not-a-technician", f"{technician.name} does not work at the bench.", "technician")
            )
        _, unauthorised = authorisation_for(technician, job.item.model)
        refuse([*found, *unauthorised])
        return give(by=by, job=job, technician=technician)
