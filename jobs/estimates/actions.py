"""Write estimates; take go-aheads; ask for supplements and take their answers."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db import transaction

from jobs.estimates.models import LINK, Charge, GoAhead
from jobs.estimates.reads import estimate
from jobs.estimates.rules import (
    State,
    WentBack,
    answer_refusals,
    changing_refusals,
    lowering_refusals,
    said_refusals,
)
from jobs.flow.actions import let_go, locked, put_hold
from jobs.flow.models import DropOff, Hold, Job
from jobs.flow.reads import erased_refusals
from jobs.flow.rules import ENDED, HoldKind, Leg
from shop.catalogue.models import PlanVersion
from shop.files.actions import keep_photograph
from shop.files.models import Photograph
from shop.files.reads import Picture
from shop.journal.actions import write
from shop.links.rules import BY_LINK
from shop.money.reads import rates, terms
from shop.money.rules import Payer, line_refusals, rate_refusals
from shop.post.models import Letter
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import currency, now, today
from shop.workshop.rules import Refusal, Stale, refuse


def take_go_ahead(
    *, by: Person, drop_off: DropOff, amount: int, given_by: str, how: str, said_on: date | None = None
) -> GoAhead:
    """Write down up to which amount, in the smallest unit of the workshop's currency, somebody lets us work."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=drop_off.pk)
        refuse([*erased_refusals(drop_off), *said_refusals(said_on or today(), today())])
        return _agreed(by, drop_off, amount=amount, given_by=given_by, how=how, said_on=said_on or today())


def go_ahead_by_link(*, drop_off: DropOff, amount: int) -> GoAhead:
    """The customer of a locked drop-off agrees to an amount by a private link, in the caller's transaction."""
    who = drop_off.customer.kept.name
    return _agreed(None, drop_off, amount=amount, given_by=who, how=LINK, said_on=today())


def _agreed(by: Person | None, drop_off: DropOff, **given: Any) -> GoAhead:
    row = GoAhead.objects.create(drop_off=drop_off, currency=currency(), at=now(), by=by, **given)
    write(
        subject=f"drop-off:{drop_off.uid}",
        by=_who(by),
        verb="go-ahead taken",
        facts={"amount": row.amount, "currency": row.currency, "how": row.how, "on": row.said_on.isoformat()},
        words={"given_by": row.given_by},
    )
    return row


def add_charge(
    *,
    by: Person,
    drop_off: DropOff,
    what: str,
    amount: int,
    job: Job | None = None,
    likely: bool = False,
    payer: str = Payer.CUSTOMER,
    rate: str | None = None,
    discount: int = 0,
    reason: str = "",
) -> Charge:
    """Put a line on an estimate, or one that is only likely; no rate means the usual one, an empty one no tax."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=drop_off.pk)
        if job and job.drop_off_id != drop_off.pk:
            refuse([Refusal("not-of-this-drop-off", "This job is not of this drop-off.", "job")])
        state = State.LIKELY if likely else State.STANDS
        given: dict[str, Any] = {"payer": payer, "rate": rate, "discount": discount, "reason": reason}
        return _charged(by, drop_off, job=job, what=what, amount=amount, state=state.value, **given)


def price_plan(
    *,
    by: Person,
    job: Job,
    plan: PlanVersion,
    payer: str,
    rate: str | None = None,
    discount: int = 0,
    reason: str = "",
) -> Charge:
    """Say who pays for a plan of a job, at which rate and with which discount; what was said before is taken off."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=job.drop_off_id)
        if plan.pk not in {each.pk for each in job.plans}:
            refuse([Refusal("not-of-this-job", "This plan is not one of the job's.", "plan")])
        rows = Charge.objects.filter(job=job, plan_version=plan).exclude(state=State.TAKEN_OFF)
        for row in rows:
            _set(row, state=State.TAKEN_OFF.value)
        given: dict[str, Any] = {"payer": payer, "rate": rate, "discount": discount, "reason": reason}
        given |= {"what": plan.plan.title, "amount": plan.plan.price, "state": State.STANDS.value}
        return _charged(by, drop_off, job=job, plan_version=plan, **given)


def _charged(by: Person, drop_off: DropOff, *, rate: str | None = None, **given: Any) -> Charge:
    """A line on the estimate of a locked drop-off."""
    name = terms().usual if rate is None else rate
    wrong = line_refusals(given["amount"], given.get("discount", 0), given.get("reason", ""))
    refuse([*wrong, *rate_refusals(name, rates(today()))])
    row = Charge.objects.create(drop_off=drop_off, rate=name, at=now(), by=by, **given)
    facts = {"charge": str(row.uid), "amount": row.amount, "discount": row.discount, "payer": row.payer}
    facts |= {"rate": row.rate, "state": row.state, "job": str(row.job.uid) if row.job else ""}
    words = {"what": row.what, "reason": row.reason}
    write(subject=f"drop-off:{drop_off.uid}", by=str(by.uid), verb="charged", facts=facts, words=words)
    return row


def _locked(charge: Charge, seen: int) -> Charge:
    """A charge as it is now, its drop-off locked and, where it has one, its job."""
    DropOff.objects.select_for_update().get(pk=charge.drop_off_id)
    row = Charge.objects.select_related("drop_off", "job").get(pk=charge.pk)
    if row.version != seen:
        raise Stale(row.version)
    if row.job:
        row.job = locked(row.job)
    return row


def _set(row: Charge, **given: Any) -> None:
    for name, value in given.items():
        setattr(row, name, value)
    row.version += 1
    row.save(update_fields=[*given, "version"])


def take_off_charge(*, by: Person, charge: Charge, seen: int) -> Charge:
    """Take a line off an estimate; a bill that was made out stays as it is."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        row = _locked(charge, seen)
        refuse(changing_refusals(row.state))
        _set(row, state=State.TAKEN_OFF.value)
        _told(by, row, "charge taken off")
    return row


def need_charge(*, by: Person, charge: Charge, seen: int) -> Charge:
    """What was likely was needed: it stands from now on."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        row = _locked(charge, seen)
        if row.state != State.LIKELY:
            refuse([Refusal("not-likely", "Only what is likely can turn out to be needed.")])
        _set(row, state=State.STANDS.value)
        _told(by, row, "likely charge needed")
    return row


def _told(by: Person | None, row: Charge, verb: str, **facts: Any) -> None:
    told = {"charge": str(row.uid), "amount": row.amount} | facts
    write(subject=f"drop-off:{row.drop_off.uid}", by=_who(by), verb=verb, facts=told)


def _who(by: Person | None) -> str:
    """Who acts, in the journal: a person, or a customer by a private link."""
    return str(by.uid) if by else BY_LINK


def ask_supplement(*, by: Person, job: Job, what: str, amount: int, rate: str | None = None) -> Charge:
    """Something more was found: the job is held until the customer has answered."""
    require(by, Can.HOLD)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=job.drop_off_id)
        job = locked(job)
        if job.leg in (Leg.SIGNED_OFF, *ENDED):
            refuse([Refusal("job-closed", "The work on this job is closed.")])
        given: dict[str, Any] = {"what": what, "amount": amount, "state": State.ASKED.value}
        row = _charged(by, drop_off, job=job, payer=Payer.CUSTOMER.value, rate=rate, **given)
        put_hold(
            by=by, job=job, kind=HoldKind.CUSTOMER, why="A supplement waits for an answer.", cause=row.cause
        )
    return row


def answer_supplement(
    *,
    by: Person,
    charge: Charge,
    seen: int,
    answer: str,
    given_by: str,
    how: str,
    said_on: date | None = None,
    amount: int | None = None,
    went_back: str = "",
) -> Charge:
    """Write down what the customer said: agreed up to an amount in all, or declined and what becomes of the gear."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        row, day, agreed = _locked(charge, seen), said_on or today(), answer == "agreed"
        wrong = answer_refusals(row.state, agreed=agreed, amount=amount, went_back=went_back)
        found = estimate(row.drop_off)
        before, with_it = found.go_ahead.amount if found.go_ahead else None, found.with_one(row.uid)
        low = lowering_refusals(amount if agreed and not wrong else None, before, with_it, found.currency)
        refuse([*wrong, *low, *said_refusals(day, today())])
        return _answered(by, row, amount, went_back, given_by=given_by, how=how, said_on=day)


def answer_by_link(*, charge: Charge, seen: int, amount: int | None, went_back: str) -> Charge:
    """The customer answers a supplement by a private link: agreed up to an amount in all, or declined."""
    with transaction.atomic():
        row = _locked(charge, seen)
        refuse(answer_refusals(row.state, agreed=amount is not None, amount=amount, went_back=went_back))
        who = row.drop_off.customer.kept.name
        return _answered(None, row, amount, went_back, given_by=who, how=LINK, said_on=today())


def asked_again(*, charges: Iterable[Charge], letter: Letter) -> None:
    """Write down that a letter asks again about supplements that wait; their drop-off is locked by the caller.

    No version goes up by it: an answer that is being typed stays good.
    """
    for row in charges:
        Charge.objects.filter(pk=row.pk).update(asked_again_at=now())
        facts = {"charge": str(row.uid), "letter": str(letter.uid)}
        write(subject=f"drop-off:{row.drop_off.uid}", by="system", verb="asked again", facts=facts)


def _answered(by: Person | None, row: Charge, amount: int | None, went_back: str, **said: Any) -> Charge:
    """Agreed when there is an amount, else declined; the hold that waited for it is lifted."""
    state = State.DECLINED if amount is None else State.STANDS
    back = WentBack(went_back).value if went_back else ""
    _set(row, state=state.value, went_back=back, answered_at=now(), answered_by=by, **said)
    _told(by, row, "supplement declined" if amount is None else "supplement agreed", went_back=back)
    if amount is not None:
        _agreed(by, row.drop_off, amount=amount, **said)
    for hold in Hold.objects.select_related("job", "item").filter(cause=row.cause, lifted_at=None):
        let_go(by=by, hold=hold, why="The customer has answered.")
    return row


def photograph_charge(*, by: Person, charge: Charge, photograph: Picture, words: str) -> Photograph:
    """Keep a photograph of what a supplement is about."""
    require(by, Can.HOLD)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=charge.drop_off_id)
        chain = f"drop-off:{drop_off.uid}"
        return keep_photograph(
            by=str(by.uid), subject=charge.cause, chain=chain, picture=photograph, words=words
        )
