"""What a customer leaves in the rooms beside the jobs: links, answers, bookings, a loan, evidence, an address that is gone."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.db import transaction

from jobs.answers.actions import ask_fewer, confirm, say_address, say_elsewhere, set_aside
from jobs.bookings.actions import book, cancel_booking, set_days
from jobs.evidence.actions import keep_as_evidence, photograph_evidence
from jobs.flow.actions import lift
from jobs.lending.actions import bring_back, lend
from shop.clocks.models import Clock
from shop.customers.actions import change_customer
from shop.customers.models import Customer
from shop.files.reads import re_encoded
from shop.gear.models import Item
from shop.links.actions import make_links
from shop.links.models import Link
from shop.links.rules import LinkFor, Wanted
from shop.outbox.actions import suppress_address
from shop.workshop.reads import today
from tests.conftest import SECRET, House
from tests.lending.made import FAR, our_item
from tests.photographs import PDF, encoded

PHONE_BEFORE, OTHER_EMAIL = "+441632960999", "tota@other-mailbox.example"


def answered(house: House, hers: Customer, clock: Clock, said: str) -> None:
    """She answers by a link: done elsewhere, which is confirmed with its proof, and another address, which is set aside."""
    counter = house.people["counter"]
    with transaction.atomic():
        make_links(wanted=[Wanted(hers, LinkFor.ANSWER, uuid4())])
    link = Link.objects.latest("pk")
    proof: dict[str, Any] = {"photograph": re_encoded(encoded(colour="teal")), "document": PDF + b"% hers\n"}
    day = today() - timedelta(days=20)
    confirm(by=counter, answer=say_elsewhere(link=link, clock=clock, day=day, elsewhere=said, **proof))
    set_aside(by=counter, answer=say_address(link=link, email=OTHER_EMAIL))
    ask_fewer(link=link)


def booked(house: House, hers: Customer, item: Item, note: str) -> None:
    """A day that she booked, and one that she gave up."""
    counter = house.people["counter"]
    set_days(by=house.people["lead"], seen=1, a_day=5, horizon=60)
    for n in (9, 11):
        row = book(by=counter, customer=hers, day=today() + timedelta(days=n), items=[item], note=note)
    cancel_booking(by=counter, booking=row, seen=row.version)


def borrowed(house: House, hers: Customer, note: str, condition: str) -> None:
    """Our own gear that went to her and came back."""
    counter = house.people["counter"]
    row = lend(by=counter, item=our_item(house), borrower=hers, until=FAR, note=note)
    bring_back(by=counter, loan=row, condition=condition)


def evidenced(house: House, item: Item, words: str, somebody: str) -> None:
    """Her gear was evidence, photographed, and let go by two."""
    lead, counter = house.people["lead"], house.people["counter"]
    hold = keep_as_evidence(
        by=counter, item=item, why=words, giver=somebody, holder="the cupboard", where="here", seals="A-1",
        reference=words, found=words, people=somebody,
    )  # fmt: skip
    photograph_evidence(by=counter, hold=hold, photograph=re_encoded(encoded(colour="purple")), words=words)
    lift(by=lead, hold=hold, why=f"Let go: {words}", second=counter, second_secret=SECRET)


def telephoned(house: House, hers: Customer) -> Customer:
    """Her number was another one before."""
    counter, phone = house.people["counter"], hers.phone
    row = change_customer(by=counter, customer=hers, seen=hers.version, phone=PHONE_BEFORE)
    return change_customer(by=counter, customer=row, seen=row.version, phone=phone)


def come_back(house: House, address: str) -> None:
    """Mail to her comes back."""
    suppress_address(
        by=house.people["counter"], address=address, why=f"550 5.1.1 <{address}>: no such mailbox"
    )
