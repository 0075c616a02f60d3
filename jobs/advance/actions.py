"""The one place that gathers the facts of a job and moves it."""

from django.db import transaction

from jobs.advance.reads import waiting_for
from jobs.bench.reads import paired, seen_as_received, tested
from jobs.estimates.reads import covered
from jobs.flow import reads as flow
from jobs.flow.actions import locked, move, present_round
from jobs.flow.models import Job
from jobs.flow.rules import ENDED, WORKING, Facts, Leg, Outcome, following, move_refusals, service_cause
from jobs.planning.reads import technician
from jobs.tray.actions import end_part
from jobs.tray.models import TrayPart
from jobs.tray.reads import accounted
from jobs.tray.rules import Ending
from jobs.worksheet.reads import sheet_facts
from shop.clocks.actions import take_back
from shop.files.actions import keep_photograph
from shop.files.models import Photograph
from shop.files.reads import Picture
from shop.gear.actions import found_beyond
from shop.gear.models import Item
from shop.gear.rules import Standing
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.reads import scanned_lot
from shop.workshop.rules import Refusal, refuse


def gather(job: Job) -> Facts:
    """What every room knows of a job."""
    steps, untouched = sheet_facts(job)
    return Facts(
        holds=flow.held(job),
        flow=flow.facts(job),
        withdrawn=flow.withdrawn(job),
        here=flow.here(job),
        go_ahead=covered(job),
        technician=technician(job),
        emptied=flow.emptied(job),
        as_received=seen_as_received(job),
        tray=accounted(job, untouched),
        tests=tested(job),
        paired=paired(job),
        **steps,
    )


def advance(*, by: Person, job: Job, to: str, seen: int, reason: str) -> Job:
    """Move a job that the caller saw at version `seen`: a leg on, or back with a reason.

    Going back after sign-off opens the next round, which takes its own right, and the clocks go back with it.
    """
    require(by, Can.MOVE)
    with transaction.atomic():
        job = locked(job, seen)
        if job.leg == Leg.SIGNED_OFF:
            require(by, Can.REOPEN)
            _take_clocks_back(by, job)
        _at_the_bench(by, job, to)
        return carry(by=by, job=job, to=to, reason=reason)


def retest(*, by: Person, job: Job, reason: str) -> None:
    """Send a locked job that was signed off back to testing, unless something keeps it where it is."""
    require(by, Can.REOPEN)
    facts = gather(job)
    if job.leg == Leg.SIGNED_OFF and not move_refusals(job.plan.legs, job.leg, Leg.TESTING, reason, facts):
        _take_clocks_back(by, job)
        carry(by=by, job=job, to=Leg.TESTING, reason=reason, facts=facts)


def move_on(*, by: Person, jobs: list[Job]) -> list[Job]:
    """Move several jobs a leg on each, all of them or none."""
    require(by, Can.MOVE)
    with transaction.atomic():
        rows = [locked(job) for job in sorted(jobs, key=lambda job: job.pk)]
        found, facts = [], {job.pk: gather(job) for job in rows}
        ways = {job.pk: following(job.legs, job.leg) or job.leg for job in rows}
        for job in rows:
            to = ways[job.pk]
            _at_the_bench(by, job, to)
            if to in (Leg.SIGNED_OFF, *ENDED):
                said = f"Tray {job.number} is moved on from {job.leg_label} one by one only."
                found.append(Refusal("one-by-one", said, "jobs"))
                continue
            found += [
                Refusal(each.code, f"Tray {job.number}: {each.sentence}", "jobs")
                for each in move_refusals(job.plan.legs, job.leg, to, "", facts[job.pk])
            ]
        refuse(found)
        return [carry(by=by, job=job, to=ways[job.pk], facts=facts[job.pk]) for job in rows]


def _at_the_bench(by: Person, job: Job, to: str) -> None:
    """Onto a working leg a job is moved by somebody who works at the bench; back it may be sent by others too."""
    if to in WORKING and to == following(job.legs, job.leg):
        require(by, Can.WORK)


def _take_clocks_back(by: Person, job: Job) -> None:
    item = Item.objects.select_for_update().get(pk=job.item_id)
    take_back(by=by, item=item, cause=service_cause(str(job.uid), present_round(job).n))
    if present_round(job).outcome in (Outcome.CONDEMNED, Outcome.BEYOND_REPAIR):
        found_beyond(by=by, item=item, standing=Standing.IN_USE)


def carry(
    *, by: Person, job: Job, to: str, reason: str = "", facts: Facts | None = None, closing: bool = False
) -> Job:
    """Move a locked job, with its facts when they are known; sign-off and hand-back come through here too."""
    return move(by=by, job=job, to=to, reason=reason, facts=facts or gather(job), closing=closing)


def take_scanned(*, by: Person, job: Job, lot: str) -> TrayPart:
    """Renew the part in the tray that waits for a lot whose label was scanned; any refusal is that of the tray."""
    require(by, Can.WORK)
    with transaction.atomic():
        job, found = locked(job), scanned_lot(lot)
        if found is None:
            refuse([Refusal("no-such-lot", f"{lot} is the code or number of no lot, or of several.", "lot")])
        assert found is not None
        key, refusals = waiting_for(job, found.part.number)
        refuse(refusals)
        return end_part(by=by, job=job, key=key, ending=Ending.RENEWED, lot=found)


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
