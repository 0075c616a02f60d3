"""Sign a round off."""

from datetime import date

from django.db import transaction

from jobs.advance.actions import carry, gather
from jobs.bench.reads import tested_on
from jobs.flow.actions import close_round, locked, present_round
from jobs.flow.models import Job
from jobs.flow.rules import Leg, Outcome, move_refusals, service_cause
from jobs.matches.actions import asked_again
from jobs.matches.reads import put_right_by
from jobs.notices.reads import open_doubts
from jobs.records.reads import gather_record
from jobs.signoff.models import SignOff
from jobs.signoff.reads import signer_of, signers
from jobs.signoff.rules import Second, comeback_refusals, outcome_refusals, second_refusals
from shop.clocks.actions import restart, set_going
from shop.gear.actions import found_beyond
from shop.gear.models import Item
from shop.gear.rules import Standing
from shop.journal.actions import write
from shop.journal.rules import sha256
from shop.signing.actions import signed
from shop.signing.rules import canonical_json
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require, secret_refusals
from shop.staff.rules import Can
from shop.workshop.reads import local_day, now
from shop.workshop.rules import Promise, Refusal, refuse

# Outcomes that end the clocks of the item.
ENDS = {Outcome.CONDEMNED: Standing.CONDEMNED, Outcome.BEYOND_REPAIR: Standing.BEYOND_REPAIR}


def sign_off(
    *,
    by: Person,
    job: Job,
    seen: int,
    outcome: str,
    words: str,
    secret: str,
    second: Person | None = None,
    second_secret: str = "",
    single_handed: str = "",
) -> SignOff:
    """Attest the present round: the job surfaces, the record closes, and a service restarts its clocks."""
    require(by, Can.SIGN)
    with transaction.atomic():
        job = locked(job, seen)
        scope, unauthorised = _authorised(by, job)
        facts, closing = gather(job), outcome != Outcome.SERVICED
        refuse(
            [
                *secret_refusals(by, secret),
                *unauthorised,
                *outcome_refusals(outcome, words),
                *_signer_refusals(by, job, outcome, second, second_secret, single_handed),
                *move_refusals(job.plan.legs, job.leg, Leg.SIGNED_OFF, "", facts, closing=closing),
                *(() if closing else open_doubts(job)),
                *(put_right_by(job) if closing else asked_again(item=job.item.kept, serviced=True)),
            ]
        )
        row = _signed(by, job, outcome, words, scope, second, single_handed)
        close_round(job=job, outcome=outcome)
        carry(by=by, job=job, to=Leg.SIGNED_OFF, facts=facts, closing=closing)
        if outcome == Outcome.SERVICED:
            _restart_clocks(by, job, row)
        elif outcome in ENDS:
            item = Item.objects.select_for_update().get(pk=job.item_id)
            found_beyond(by=by, item=item, standing=ENDS[Outcome(outcome)])
        told = {"sign_off": str(row.uid), "outcome": outcome, "record": row.digest}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="signed off", facts=told)
    return row


def _signed(
    by: Person, job: Job, outcome: str, words: str, scope: str, second: Person | None, single_handed: str
) -> SignOff:
    """The closed record of a locked job's present round."""
    second_scope = _authorised(second, job)[0]
    instant, record = now(), gather_record(job)
    record["signed"] = {
        "outcome": outcome,
        "words": words,
        "at": instant.isoformat(timespec="seconds"),
        "signer": by.name,
        "second": second.name if second else "",
        "single_handed": single_handed,
        "authorisation": scope,
        "second_authorisation": second_scope,
    }
    text = canonical_json(record)
    key, signature = signed(by=by, text=text)
    return SignOff.objects.create(
        round=present_round(job),
        outcome=outcome,
        words=words,
        signer=by,
        second=second,
        single_handed=single_handed,
        authorisation=scope,
        second_authorisation=second_scope,
        at=instant,
        record=text,
        digest=sha256(text),
        key=key,
        signature=signature,
    )


def _authorised(signer: Person | None, job: Job) -> tuple[str, list[Refusal]]:
    """A signer's authorisation for the job's gear, in words, or the refusals: a trainee signs nothing."""
    if signer is None:
        return "", []
    return authorisation_for(signer, job.item.model, oxygen=job.plan.oxygen, signing=True)


def _restart_clocks(by: Person, job: Job, row: SignOff) -> None:
    """The clocks that the plans satisfy run again, each from the day of its test or of the sign-off."""
    Item.objects.select_for_update().get(pk=job.item_id)
    cause = service_cause(str(job.uid), row.round.n)
    found: dict[str, tuple[Promise, date]] = {}
    for version in job.plans:
        day = tested_on(job, version) or local_day(row.at)
        for promise in version.plan.promises:
            if promise.key not in found or found[promise.key][0].months > promise.months:
                found[promise.key] = (promise, day)
    for promise, day in found.values():
        clock = set_going(by=by, item=job.item, key=promise.key, title=promise.title, months=promise.months)
        restart(by=by, clock=clock, months=promise.months, day=day, cause=cause)


def _signer_refusals(
    by: Person, job: Job, outcome: str, second: Person | None, second_secret: str, single_handed: str
) -> list[Refusal]:
    others = [person.name for person in signers(job) if person.pk != by.pk]
    shown = Second(second.pk == by.pk, second.may(Can.SIGN)) if second else None
    found = second_refusals(
        asked=job.plan.second_person,
        outcome=outcome,
        second=shown,
        single_handed=single_handed,
        others=others,
    )
    if second is not None:
        found += _authorised(second, job)[1]
        found += secret_refusals(second, second_secret, "second_secret")
    earlier = signer_of(job.follows) if job.follows else ""
    return [*found, *comeback_refusals(earlier, by.name, single_handed=single_handed, others=others)]
