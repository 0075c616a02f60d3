"""Sign a round off."""

from django.db import transaction

from jobs.advance.actions import carry, gather
from jobs.flow.actions import close_round, locked, present_round
from jobs.flow.models import Job
from jobs.flow.rules import Leg, Outcome, move_refusals
from jobs.signoff.models import SignOff
from jobs.signoff.reads import gather_record
from jobs.signoff.rules import outcome_refusals, second_refusals
from shop.clocks.actions import restart, set_going
from shop.gear.models import Item
from shop.journal.actions import write
from shop.journal.rules import canonical, sha256
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require, secret_refusals
from shop.staff.rules import Can
from shop.workshop.reads import local_day, now
from shop.workshop.rules import Refusal, refuse


def sign_off(
    *,
    by: Person,
    job: Job,
    seen: int,
    outcome: str,
    words: str,
    secret: str,
    second: Person | None,
    second_secret: str,
) -> SignOff:
    """Attest the present round: the job surfaces, the record closes, and a service restarts its clock."""
    require(by, Can.SIGN)
    with transaction.atomic():
        job = locked(job, seen)
        scope, unauthorised = _authorised(by, job)
        second_scope, second_unauthorised = _authorised(second, job)
        facts = gather(job)
        refuse(
            [
                *secret_refusals(by, secret),
                *unauthorised,
                *second_unauthorised,
                *outcome_refusals(outcome, words),
                *_second_refusals(by, job, outcome, second, second_secret),
                *move_refusals(
                    job.plan.legs, job.leg, Leg.SIGNED_OFF, "", facts, closing=outcome != Outcome.SERVICED
                ),
            ]
        )
        instant, record = now(), gather_record(job)
        record["signed"] = {
            "outcome": outcome,
            "words": words,
            "at": instant.isoformat(timespec="seconds"),
            "signer": by.name,
            "second": second.name if second else "",
            "authorisation": scope,
            "second_authorisation": second_scope,
        }
        text = canonical(record)
        row = SignOff.objects.create(
            round=present_round(job),
            outcome=outcome,
            words=words,
            signer=by,
            second=second,
            authorisation=scope,
            second_authorisation=second_scope,
            at=instant,
            record=text,
            digest=sha256(text),
        )
        close_round(job=job, outcome=outcome)
        carry(by=by, job=job, to=Leg.SIGNED_OFF, facts=facts, closing=outcome != Outcome.SERVICED)
        if outcome == Outcome.SERVICED:
            _restart_clock(by, job, row)
        told = {"sign_off": str(row.uid), "outcome": outcome, "record": row.digest}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="signed off", facts=told)
    return row


def _authorised(signer: Person | None, job: Job) -> tuple[str, list[Refusal]]:
    """A signer's authorisation for the job's gear, in words, or the refusals: a trainee signs nothing."""
    return authorisation_for(signer, job.item.model, signing=True) if signer else ("", [])


def _restart_clock(by: Person, job: Job, row: SignOff) -> None:
    """The clock that the plan satisfies runs again from the day of the sign-off."""
    plan = job.plan
    Item.objects.select_for_update().get(pk=job.item_id)
    clock = set_going(
        by=by, item=job.item, key=plan.clock_key, title=plan.clock_title, months=plan.clock_months
    )
    restart(by=by, clock=clock, months=plan.clock_months, day=local_day(row.at), cause=f"sign-off:{row.uid}")


def _second_refusals(
    by: Person, job: Job, outcome: str, second: Person | None, second_secret: str
) -> list[Refusal]:
    found = second_refusals(
        asked=job.plan.second_person,
        outcome=outcome,
        second_is_given=second is not None,
        second_is_signer=second is not None and second.pk == by.pk,
        second_may_sign=second is not None and second.may(Can.SIGN),
    )
    if second is not None:
        found += secret_refusals(second, second_secret, "second_secret")
    return found
