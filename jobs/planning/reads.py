"""What planning knows of a job."""

from collections.abc import Sequence
from typing import Any

from jobs.flow.models import Job
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, scopes_of
from shop.staff.rules import Can, authorisation_refusals
from shop.workshop.reads import today
from shop.workshop.rules import Refusal


def technician(job: Job) -> tuple[Refusal, ...]:
    """A job that is worked on has a technician who is authorised today."""
    if job.technician is None:
        return (Refusal("no-technician", "Nobody has been given this job yet."),)
    _, refusals = authorisation_for(job.technician, job.item.model, oxygen=job.plan.oxygen)
    if not job.technician.may(Can.WORK):
        refusals.append(
            Refusal("not-a-technician", f"{job.technician.name} does not work at the bench any more.")
        )
    return tuple(refusals)


def authorised(job: Job) -> tuple[list[Person], list[Person]]:
    """Those who work at the bench: who is authorised for a job's gear today, and who is not."""
    able: tuple[list[Person], list[Person]] = ([], [])
    people, gear = technicians(), job.item.model
    asked: Any = {"maker": gear.maker, "kind": gear.kind, "kind_label": gear.kind_label}
    asked |= {"on": today(), "oxygen": job.plan.oxygen}
    scopes = scopes_of(people)
    for person in people:
        refusals = authorisation_refusals(person.name, scopes[person.pk], **asked)
        able[bool(refusals)].append(person)
    return able


def authorised_for_all(jobs: Sequence[Job]) -> list[Person]:
    """Those who are authorised for the gear of every one of these jobs today."""
    kinds = {(job.item.model_id, job.plan.oxygen): job for job in jobs}.values()
    able = [set(authorised(job)[0]) for job in kinds]
    return [person for person in technicians() if all(person in some for some in able)]


def technicians() -> list[Person]:
    """Everybody who works at the bench."""
    people = Person.objects.filter(is_active=True).prefetch_related("roles").order_by("name")
    return [person for person in people if person.may(Can.WORK)]
