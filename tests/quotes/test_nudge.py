"""A supplement that nobody answered is asked about again by one letter, and never where it should not be."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from jobs.estimates.models import Charge
from jobs.flow.models import DropOff
from jobs.quotes import actions
from jobs.quotes.actions import ask_again
from jobs.quotes.reads import nudged
from jobs.quotes.rules import Waits, asks_again
from jobs.quotes.tasks import nudge
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.links.models import Link
from shop.post.models import Letter, Suppressed
from shop.workshop.models import Workshop
from shop.workshop.reads import at, now
from tests.conftest import Api, House
from tests.porthole.made import linked
from tests.porthole.test_letters import message
from tests.quotes.test_quotes import asked
from tests.rows import nothing_changes, said
from tests.threads import real_database as real_database
from tests.threads import together
from tests.walk import EVIDENCE, Walk, ok


@pytest.mark.parametrize(
    ("waits", "nudge_days", "again"),
    [
        (Waits(3), 3, True),
        (Waits(2), 3, False),
        (Waits(400), None, False),
        (Waits(400), 0, False),
        (Waits(3, here=False), 3, False),
        (Waits(3, kept=True), 3, False),
        (Waits(3, pays=False), 3, False),
        (Waits(3, address=False), 3, False),
        (Waits(3, linked=False), 3, False),
        (Waits(3, asked_again=True), 3, False),
    ],
)
def test_it_asks_where_nothing_speaks_against_it(waits: Waits, nudge_days: int | None, again: bool) -> None:
    assert asks_again(waits, nudge_days) == again


def waiting(house: House, api: dict[str, Api], days: int = 3) -> Walk:
    """A job with a supplement that was asked for so many days ago, of a customer who has a link."""
    Workshop.objects.update(nudge_days=3)
    walk = Walk(house, api)
    with at(now() - timedelta(days=days)):
        asked(walk)
    linked(walk.row.drop_off)
    return walk


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """Two that wait in one drop-off make one letter, in the customer's language, with a link; the list says so."""
    Customer.objects.update(language="de")
    walk = waiting(house, api)
    with at(now() - timedelta(days=4)):
        asked(walk, "12.00")
    waited = "2 supplements have waited for the customer's answer"
    assert waited in said(pages["counter"].get("/counter"), 200)

    assert [ask_again(), ask_again()] == [1, 0]

    assert waited not in said(pages["counter"].get("/counter"), 200)
    letter = Letter.objects.get()
    assert (letter.purpose, letter.subject) == ("drop-off", "Ihre Tauchausrüstung wartet auf Ihre Antwort")
    assert "/porthole/" in message(letter).get_body(("plain",)).get_content()
    written = Entry.objects.filter(verb="asked again", by="system")
    assert [str(letter.uid) in row.facts for row in written] == [True, True]
    assert Charge.objects.filter(asked_again_at=None).count() == 0
    page = said(pages["counter"].get("/counter/supplements"), 200)
    assert (page.count("asked again by letter on"), page.count(">ask again<")) == (2, 0)
    with at(now() + timedelta(days=3)):
        assert ask_again() == 0
        assert said(pages["counter"].get("/counter/supplements"), 200).count(">ask again<") == 2


def answer(walk: Walk) -> None:
    row = Charge.objects.get()
    given = {"answer": "declined", "went_back": "put back together", "given_by": "Maja", "how": "in person"}
    ok(walk.api["counter"].post(f"charges/{row.uid}/answer", given, seen=row.version))


def suppress(walk: Walk) -> None:
    Suppressed.objects.create(address=walk.house.customer.email, why="5.1.1", since=now())


AGAINST: dict[str, Callable[[Walk], Any]] = {
    "answered": answer,
    "taken off": lambda walk: Charge.objects.update(state="taken off"),
    "kept as evidence": lambda walk: ok(
        walk.api["counter"].post(f"items/{walk.item.uid}/evidence", EVIDENCE), 201
    ),
    "no link": lambda walk: Link.objects.update(revoked_at=now()),
    "no address": lambda walk: Customer.objects.update(email=""),
    "mail comes back": suppress,
    "no days": lambda walk: Workshop.objects.update(nudge_days=None),
    "too early": lambda walk: Workshop.objects.update(nudge_days=4),
}


@pytest.mark.parametrize("what", AGAINST)
def test_it_leaves_the_others_to_the_telephone(house: House, api: dict[str, Api], what: str) -> None:
    AGAINST[what](waiting(house, api))

    with nothing_changes():
        assert ask_again() == 0


def test_it_goes_on_with_the_others_where_one_fails(
    house: House, api: dict[str, Api], monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    first, second = waiting(house, api).row.drop_off, waiting(house, api).row.drop_off

    def stumbles(drop_off: DropOff, *more: Any) -> list[Charge]:
        if drop_off.pk == first.pk:
            raise ValueError("not this one")
        return nudged(drop_off, *more)

    monkeypatch.setattr(actions, "nudged", stumbles)
    assert ask_again() == 1
    assert list(Charge.objects.exclude(asked_again_at=None).values_list("drop_off", flat=True)) == [second.pk]
    assert f"with the key {first.pk}" in caplog.text

    monkeypatch.undo()
    assert ask_again() == 1


def test_it_writes_within_the_hours_of_letters(house: House, api: dict[str, Api]) -> None:
    waiting(house, api, 30)
    noon = (now() + timedelta(days=1)).replace(hour=12)
    with at(noon.replace(hour=3)):
        nudge()
    assert Letter.objects.count() == 0
    with at(noon):
        nudge()
    assert Letter.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_it_writes_one_letter_when_two_beats_come_at_once(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    waiting(house, api)

    assert sorted(together(4, lambda _: ask_again())) == [0, 0, 0, 1]
    assert Letter.objects.count() == 1
    assert Entry.objects.filter(verb="asked again").count() == 1
