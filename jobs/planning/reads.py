"""What planning knows of a job."""

from jobs.flow.models import Job
from shop.staff.reads import authorisation_for
from shop.workshop.rules import Refusal


def technician(job: Job) -> tuple[Refusal, ...]:
    """A job that is worked on has a technician who is authorised today."""
    if job.technician is None:
        return (Refusal("no-technician", "Nobody has been given this job yet."),)
    _, refusals = authorisation_for(job.technician, job.item.model)
    return tuple(refusals)
