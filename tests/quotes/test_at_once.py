"""By link and at the counter at the same instant: one answer, never more questions than may wait."""

from collections import Counter
from typing import Any

import pytest
from django.db import transaction

from jobs.estimates.models import GoAhead
from jobs.flow.actions import open_drop_off
from jobs.flow.models import DropOff
from jobs.porthole.actions import ask
from jobs.porthole.models import Question
from jobs.porthole.rules import MOST_OPEN
from jobs.quotes.actions import answer_quote, withdraw_quote
from jobs.quotes.models import Quote
from shop.customers.actions import add_customer
from shop.links.models import Link
from shop.links.rules import LinkFor
from shop.workshop.reads import now, today
from shop.workshop.rules import Refused
from tests.conftest import staffed
from tests.threads import real_database as real_database
from tests.threads import together

PEOPLE = 5


def visit() -> tuple[Any, DropOff, Link]:
    """A drop-off with a quote and a link."""
    by = staffed()["counter"]
    given: dict[str, Any] = {"email": "m@lindqvist.example", "phone": "", "reminders": False}
    customer = add_customer(by=by, kind="person", name="Maja Lindqvist", **given)
    with transaction.atomic():
        row = open_drop_off(by=by, customer=customer, promised_on=today())
    Quote.objects.create(drop_off=row, n=1, amount=900, currency="GBP", at=now(), by=by)
    told: dict[str, Any] = {"about": row.uid, "digest": "d", "made_at": now(), "ends_at": now()}
    return by, row, Link.objects.create(customer=customer, purpose=LinkFor.PORTHOLE, **told)


def tried(act: Any) -> str:
    """What became of it, or the first code of the refusal."""
    try:
        act()
    except Refused as refused:
        return refused.refusals[0].code
    return "done"


@pytest.mark.django_db(transaction=True)
def test_it_is_answered_once(real_database: None) -> None:
    """Agreed, declined and withdrawn together: one of them holds, and a go-ahead stands only if it was agreed."""
    by, row, link = visit()
    quote = Quote.objects.get()

    def act(i: int) -> str:
        if i == 0:
            return tried(lambda: withdraw_quote(by=by, quote=quote))
        answer = "agreed" if i % 2 else "declined"
        return tried(lambda: answer_quote(link=link, drop_off=row, seen=1, answer=answer))

    found = Counter(together(PEOPLE, act))

    became = Quote.objects.get().became
    assert GoAhead.objects.count() == (became == "agreed")
    assert found["done"] == {"agreed": 2, "declined": 2, "withdrawn": 1}[became]


@pytest.mark.django_db(transaction=True)
def test_it_keeps_the_cap_of_questions(real_database: None) -> None:
    _, row, link = visit()
    Link.objects.update(about=row.uid)

    found = Counter(together(PEOPLE, lambda i: tried(lambda: ask(link=link, text=f"{i}?"))))

    assert found == {"done": MOST_OPEN, "asked-enough": PEOPLE - MOST_OPEN}
    assert Question.objects.count() == MOST_OPEN
