"""Make out bills, counter them, mark what was paid."""

from datetime import date
from typing import Any

from django.db import transaction

from jobs.bills.models import Bill, Payment
from jobs.bills.reads import asked_of, billed, done, others_of, paid, standing, to_bill
from jobs.bills.rules import (
    billing_refusals,
    counter_refusals,
    discounted,
    document,
    mark_refusals,
    payable,
    taking_back_refusals,
    turned,
)
from jobs.estimates.reads import estimate
from jobs.flow.models import DropOff
from shop.journal.actions import write
from shop.money.reads import rates
from shop.money.rules import Payer, line_refusals
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import next_number
from shop.workshop.reads import currency, now, today
from shop.workshop.rules import refuse


def _locked(drop_off: DropOff) -> DropOff:
    """The drop-off, locked: one bill or mark of it at a time."""
    DropOff.objects.select_for_update().get(pk=drop_off.pk)
    return DropOff.objects.select_related("customer").get(pk=drop_off.pk)


def make_bill(*, by: Person, drop_off: DropOff, payer: str, discount: int = 0, reason: str = "") -> Bill:
    """Bill a payer for what is signed off and not billed yet, less a discount on all of it; never above the go-ahead."""
    require(by, Can.BILL)
    with transaction.atomic():
        drop_off = _locked(drop_off)
        found, before, day = estimate(drop_off), standing(drop_off), today()
        chosen = to_bill(found, payer, before)
        about = {"drop_off": drop_off.label, "customer": drop_off.customer.label, "payer": payer}
        others = others_of(found, chosen, payer)
        less = discounted(chosen, discount, reason)
        made = document(about | {"on": day.isoformat()}, less, others, done(drop_off, chosen), found.terms)
        wrong = line_refusals(sum(each.value for each in chosen), discount, reason) if chosen else []
        refuse(
            wrong
            + billing_refusals(
                chosen,
                payer,
                rates=rates(day),
                asked=asked_of(found, chosen),
                total=payable(made),
                billed=sum(bill.total for bill in before if bill.payer == Payer.CUSTOMER),
                agreed=found.go_ahead.amount if found.go_ahead else None,
                currency=found.currency,
            )
        )
        return _numbered(by, drop_off, "billed", payer=payer, document=made)


def counter_bill(*, by: Person, bill: Bill, reason: str) -> Bill:
    """Counter a bill that was wrong; its lines may then be billed anew."""
    require(by, Can.BILL)
    with transaction.atomic():
        drop_off = _locked(bill.drop_off)
        before = Bill.objects.filter(corrects=bill).exists()
        refuse(counter_refusals(is_counter=bill.corrects_id is not None, countered=before))
        made = turned(bill.document)
        given: dict[str, Any] = {"payer": bill.payer, "corrects": bill, "reason": reason}
        return _numbered(by, drop_off, "bill countered", document=made, **given)


def _numbered(by: Person, drop_off: DropOff, verb: str, **given: Any) -> Bill:
    """The next bill: the counter stays locked until the end, and what fails gives its number back with all else."""
    made = given["document"]
    row = Bill.objects.create(
        number=next_number("bill"), drop_off=drop_off, total=payable(made), currency=made["currency"], on=today(),
        at=now(), by=by, **given,
    )  # fmt: skip
    facts = {"bill": str(row.uid), "number": row.number, "total": row.total, "currency": row.currency}
    facts |= {"payer": row.payer, "corrects": row.corrects.number if row.corrects else ""}
    words = {"reason": row.reason} if row.reason else None
    write(subject=f"drop-off:{drop_off.uid}", by=str(by.uid), verb=verb, facts=facts, words=words)
    return row


def mark_paid(
    *,
    by: Person,
    drop_off: DropOff,
    kind: str,
    amount: int,
    way: str,
    on: date | None = None,
    above: bool = False,
) -> Payment:
    """Mark a deposit, a payment or a refund; the money itself is handled elsewhere."""
    require(by, Can.BILL)
    with transaction.atomic():
        drop_off, day = _locked(drop_off), on or today()
        facts: dict[str, Any] = {"paid": paid(drop_off), "billed": billed(drop_off), "currency": currency()}
        refuse(mark_refusals(day, today(), kind=kind, amount=amount, above=above, **facts))
        return _marked(by, drop_off, f"{kind} marked", kind=kind, amount=amount, way=way, on=day)


def take_back_payment(*, by: Person, payment: Payment, reason: str) -> Payment:
    """Take back a mark that was wrong."""
    require(by, Can.BILL)
    with transaction.atomic():
        drop_off = _locked(payment.drop_off)
        before = Payment.objects.filter(takes_back=payment).exists()
        left = paid(drop_off) - payment.signed
        refuse(taking_back_refusals(is_back=payment.takes_back_id is not None, before=before, left=left))
        same = {"kind": payment.kind, "amount": payment.amount, "way": payment.way, "on": payment.on}
        given: dict[str, Any] = same | {"takes_back": payment, "reason": reason}
        return _marked(by, drop_off, "mark taken back", **given)


def _marked(by: Person, drop_off: DropOff, verb: str, **given: Any) -> Payment:
    row = Payment.objects.create(drop_off=drop_off, currency=currency(), at=now(), by=by, **given)
    facts = {"payment": str(row.uid), "kind": row.kind, "amount": row.amount, "way": row.way}
    facts |= {"on": row.on.isoformat()}
    words = {"reason": row.reason} if row.reason else None
    write(subject=f"drop-off:{drop_off.uid}", by=str(by.uid), verb=verb, facts=facts, words=words)
    return row
