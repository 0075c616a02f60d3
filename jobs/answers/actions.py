"""Answer by a private link; deal with answers at the counter."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db import transaction

from jobs.answers.models import Answer, NewAddress, Settled
from jobs.answers.reads import waiting
from jobs.answers.rules import GONE, Said
from jobs.bookings.reads import whose
from shop.clocks.actions import done_elsewhere
from shop.clocks.models import Clock
from shop.clocks.rules import elsewhere_refusals
from shop.customers.actions import change_customer, wish
from shop.customers.models import Customer
from shop.files.actions import keep_document, keep_photograph
from shop.files.reads import Picture, documents, photographs, stored
from shop.gear.actions import say_standing
from shop.gear.models import Item
from shop.journal.actions import write
from shop.links.models import Link
from shop.links.rules import BY_LINK
from shop.post.actions import keep_back
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, refuse

NOT_THEIRS = Refusal("not-theirs", "Choose one of the list.")
PASSED_ON = Refusal("passed-on", "The gear belongs to somebody else by now. Set this answer aside.")
ONE_ADDRESS = "You told us another address already: we call you about that one first."
ADDRESS_WAITS = Refusal("address-waits", ONE_ADDRESS, "email")
NO_PROOF = "No proof came with it. Enter what they show you on the clock's page, then set this answer aside."


def say_elsewhere(
    *, link: Link, clock: Clock, day: date, elsewhere: str, photograph: Picture | None, document: bytes | None
) -> Answer:
    """A customer says that others did it; the clock moves once the counter has confirmed it."""
    with transaction.atomic():
        customer = _locked(link)
        refuse([NOT_THEIRS] if clock.item.owner_id != customer.pk else [])
        refuse(elsewhere_refusals(day, today(), clock.anchor))
        row, fresh = _answered(link, customer, Said.ELSEWHERE, clock=clock, day=day, elsewhere=elsewhere)
        files: dict[str, Any] = {
            "by": BY_LINK,
            "subject": row.subject,
            "chain": f"customer:{customer.uid}",
        }
        if fresh and photograph is not None:
            keep_photograph(picture=photograph, words="Proof, as the customer sent it", **files)
        if fresh and document is not None:
            keep_document(pdf=document, **files)
    return row


def say_gone(*, link: Link, item: Item, said: str) -> Answer:
    """A customer says that an item was sold, lost or put away; it stands so once the counter has confirmed it."""
    with transaction.atomic():
        customer = _locked(link)
        refuse([NOT_THEIRS] if item.owner_id != customer.pk or said not in GONE else [])
        row, _ = _answered(link, customer, Said(said), item=item)
    return row


def say_address(*, link: Link, email: str) -> Answer:
    """A customer names another address; it counts once the counter has asked them."""
    with transaction.atomic():
        customer = _locked(link)
        before = waiting().filter(whose(customer), said=Said.ADDRESS).first()
        if before:
            refuse([] if before.new_address.email == email else [ADDRESS_WAITS])
            return before
        row = _written(link, customer, Said.ADDRESS, {}, {"email": email})
        NewAddress.objects.create(answer=row, email=email)
    return row


def ask_fewer(*, link: Link) -> None:
    """A customer wants one letter for each due date, from now on."""
    with transaction.atomic():
        customer = _locked(link)
        if not customer.fewer:
            wish(customer=customer, by=BY_LINK, fewer=True)
            _written(link, customer, Said.FEWER, {}, {})


def ask_none(*, link: Link) -> None:
    """A customer wants no reminder any more, from now on: those that wait in the outbox do not go either."""
    with transaction.atomic():
        customer = _locked(link)
        if customer.reminders:
            wish(customer=customer, by=BY_LINK, reminders=False)
            _written(link, customer, Said.NONE, {}, {})
        uids = [customer.uid, *customer.merged.values_list("uid", flat=True)]
        keep_back(recipients=[str(uid) for uid in uids], purpose=Purpose.REMINDER)


def confirm(*, by: Person, answer: Answer) -> Answer:
    """What a customer said is so: the clock runs from that day, the item stands so, or the address is theirs."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        row = _open(answer)
        if row.said == Said.ELSEWHERE:
            assert row.clock is not None
            assert row.day is not None
            proof: dict[str, Any] = {"photograph": _picture(row), "document": _document(row)}
            refuse([] if any(proof.values()) else [Refusal("no-proof", NO_PROOF)])
            done_elsewhere(by=by, clock=row.clock, day=row.day, elsewhere=row.elsewhere, **proof)
        elif row.said in GONE:
            assert row.item is not None
            item = Item.objects.select_for_update().get(pk=row.item.pk)
            refuse([] if item.owner_id == row.customer.kept.pk else [PASSED_ON])
            say_standing(by=by, item=item, seen=item.version, standing=row.said)
        else:
            kept = row.customer.kept
            change_customer(by=by, customer=kept, seen=kept.version, email=row.new_address.email)
        return _settled(by, row, confirmed=True)


def set_aside(*, by: Person, answer: Answer) -> Answer:
    """An answer changes nothing: it was a mistake, or was dealt with otherwise. Letters go on."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        return _settled(by, _open(answer), confirmed=False)


def _locked(link: Link) -> Customer:
    return Customer.objects.select_for_update().get(pk=link.customer.kept.pk)


def _open(answer: Answer) -> Answer:
    """An answer that waits, its customer locked."""
    Customer.objects.select_for_update().get(pk=answer.customer.kept.pk)
    row = waiting().filter(pk=answer.pk).first()
    refuse([] if row else [Refusal("settled", "Somebody has dealt with this answer, or it needs nothing.")])
    assert row is not None
    return row


def _answered(link: Link, customer: Customer, said: Said, **about: Any) -> tuple[Answer, bool]:
    """The answer, and whether it is new: said again about the same thing while it waits, it is the one before."""
    same = {name: about[name] for name in ("clock", "item") if name in about}
    before = waiting().filter(whose(customer), said=said, **same).first()
    return (before, False) if before else (_written(link, customer, said, about, {}), True)


def _written(
    link: Link, customer: Customer, said: Said, about: dict[str, Any], words: dict[str, str]
) -> Answer:
    row = Answer.objects.create(customer=customer, link=link, said=said, at=now(), **about)
    facts = {"answer": str(row.uid), "said": said.value, "letter": str(link.about)}
    facts |= {name: str(getattr(value, "uid", value)) for name, value in about.items()}
    write(subject=f"customer:{customer.uid}", by=BY_LINK, verb="answered by link", facts=facts, words=words)
    return row


def _settled(by: Person, row: Answer, *, confirmed: bool) -> Answer:
    Settled.objects.create(answer=row, confirmed=confirmed, at=now(), by=by)
    facts = {"answer": str(row.uid), "said": row.said}
    verb = "answer confirmed" if confirmed else "answer set aside"
    write(subject=f"customer:{row.customer.kept.uid}", by=str(by.uid), verb=verb, facts=facts)
    return row


def _picture(row: Answer) -> Picture | None:
    return next((_drawn(each) for each in photographs([row.subject])), None)


def _drawn(photograph: Any) -> Picture:
    file = photograph.file
    return Picture(stored(file), file.width_px, file.height_px)


def _document(row: Answer) -> bytes | None:
    found: Iterable[Any] = documents([row.subject])
    return next((stored(each.file) for each in found), None)
