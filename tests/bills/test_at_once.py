"""Bills at the same instant: numbers without gaps, none twice, one bill of the same lines."""

from collections import Counter
from typing import Any

import pytest
from django.db import transaction

from jobs.bills.actions import make_bill
from jobs.bills.models import Bill
from jobs.estimates.actions import add_charge, take_go_ahead
from jobs.flow.actions import open_drop_off
from jobs.flow.models import DropOff
from shop.customers.actions import add_customer
from shop.staff.models import Person
from shop.workshop.reads import today
from shop.workshop.rules import Refused
from tests.conftest import staffed
from tests.threads import real_database as real_database
from tests.threads import together

PEOPLE, EACH = 4, 2


def open_visits(by: Person, count: int) -> list[DropOff]:
    """Visits that cost 5.00 each; every other one has a go-ahead that does not cover it."""
    given: dict[str, Any] = {"email": "", "phone": "", "reminders": False}
    customer = add_customer(by=by, kind="person", name="Maja Lindqvist", **given)
    with transaction.atomic():
        found = [open_drop_off(by=by, customer=customer, promised_on=today()) for _ in range(count)]
    for n, row in enumerate(found):
        add_charge(by=by, drop_off=row, what="Postage", amount=500)
        take_go_ahead(by=by, drop_off=row, amount=500 - n % 2, given_by="Maja", how="in person")
    return found


def billed(by: Person, row: DropOff) -> str:
    """What became of a bill that was asked for."""
    try:
        return make_bill(by=by, drop_off=row, payer="customer").label
    except Refused as refused:
        return refused.refusals[0].code


@pytest.fixture
def counter(real_database: None) -> Person:
    return staffed()["counter"]


def test_it_works(counter: Person) -> None:
    """Half of what is asked for is refused; the other half has the numbers from 1 on."""
    rows = open_visits(counter, PEOPLE * EACH)

    found = together(PEOPLE, lambda i: [billed(counter, row) for row in rows[i::PEOPLE]])

    said = Counter(label for each in found for label in each)
    assert said.pop("above-go-ahead") == PEOPLE * EACH // 2
    assert sorted(said) == [f"Bill {n:04d}" for n in range(1, PEOPLE * EACH // 2 + 1)]
    assert sorted(Bill.objects.values_list("number", flat=True)) == list(range(1, PEOPLE * EACH // 2 + 1))


def test_it_bills_the_same_once(counter: Person) -> None:
    (row,) = open_visits(counter, 1)

    said = together(PEOPLE, lambda i: billed(counter, row))

    assert Counter(said) == {"Bill 0001": 1, "nothing-to-bill": PEOPLE - 1}
