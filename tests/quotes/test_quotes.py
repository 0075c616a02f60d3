"""A go-ahead by link: an amount that was put to the customer, or a supplement; agreed or declined once, never another amount."""

from typing import Any

import pytest
from django.test import Client

from jobs.estimates.models import Charge, GoAhead
from jobs.estimates.reads import uncovered
from jobs.flow.models import Hold
from jobs.quotes.models import Quote
from shop.customers.actions import add_customer
from shop.journal.models import Entry
from shop.post.models import Letter
from shop.workshop.reads import now, today
from tests.conftest import Api, House
from tests.porthole.made import linked
from tests.rows import codes, nothing_changes, said
from tests.walk import Walk, ok

AGREED, DECLINED = {"answer": "agreed"}, {"answer": "declined"}


def put(walk: Walk, amount: str = "120.00") -> dict[str, Any]:
    made: dict[str, Any] = ok(
        walk.api["counter"].post(f"drop-offs/{walk.drop_off}/quotes", {"amount": amount}), 201
    )
    return made


def asked(walk: Walk, amount: str = "60.00") -> Charge:
    given = {"what": "The yoke is cracked: a new one", "amount": amount}
    return Charge.objects.get(
        uid=ok(walk.api["counter"].post(f"jobs/{walk.job}/supplements", given), 201)["uid"]
    )


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    """Put by letter, agreed by link, twice is once; then the job may be cleared, and the counter sees it."""
    walk, client = Walk(house, api), Client()
    assert put(walk)["amount"] == "120.00"
    assert Letter.objects.get().subject == "We ask for your go-ahead"
    path = linked(walk.row.drop_off)
    assert "120.00 GBP" in said(client.get(path), 200)
    page = said(client.get(f"{path}/go-ahead"), 200)
    assert "95.00 GBP" in page
    assert "120.00 GBP" in page

    for _ in range(2):
        assert client.post(f"{path}/go-ahead", AGREED | {"seen": 1})["Location"] == path
    given = GoAhead.objects.get()
    assert (given.amount, given.how, given.by, given.given_by) == (12000, "by link", None, "Maja Lindqvist")
    assert set(
        Entry.objects.filter(verb__in=["agreed by link", "go-ahead taken"]).values_list("by", flat=True)
    ) == {"customer"}
    assert "by link" in said(pages["counter"].get(f"/drop-offs/{walk.drop_off}"), 200)
    assert ok(walk.move("cleared", role="counter"))["leg"] == "cleared"
    with nothing_changes():
        assert "You have agreed already" in said(client.post(f"{path}/go-ahead", DECLINED | {"seen": 1}), 409)


def test_it_is_declined(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    walk, client = Walk(house, api), Client()
    put(walk)
    path = linked(walk.row.drop_off)
    for _ in range(2):
        assert client.post(f"{path}/go-ahead", DECLINED | {"seen": 1}).status_code == 302

    assert GoAhead.objects.count() == 0
    assert "declined" in said(pages["counter"].get(f"/drop-offs/{walk.drop_off}"), 200)
    assert Entry.objects.filter(verb="declined by link", by="customer").count() == 1


def test_it_takes_the_amount_that_was_seen_alone(house: House, api: dict[str, Api]) -> None:
    """Another amount was put meanwhile: the page is shown again with it, and nothing was agreed."""
    walk, client = Walk(house, api), Client()
    put(walk)
    path = linked(walk.row.drop_off)
    put(walk, "180.00")

    with nothing_changes():
        page = said(client.post(f"{path}/go-ahead", AGREED | {"seen": 1}), 412)
    assert "180.00 GBP" in page
    assert 'name="seen" value="2"' in page
    assert client.post(f"{path}/go-ahead", AGREED | {"seen": 2}).status_code == 302
    assert GoAhead.objects.get().amount == 18000
    assert list(Quote.objects.values_list("n", "became")) == [(1, "withdrawn"), (2, "agreed")]


def test_it_is_withdrawn(house: House, api: dict[str, Api]) -> None:
    walk, client = Walk(house, api), Client()
    row, path = put(walk), linked(walk.row.drop_off)
    assert codes(api["technician"].post(f"quotes/{row['uid']}/withdraw"), 403) == []
    assert ok(api["counter"].post(f"quotes/{row['uid']}/withdraw"))["became"] == "withdrawn"

    with nothing_changes():
        assert "has taken this back" in said(client.post(f"{path}/go-ahead", AGREED | {"seen": 1}), 409)
        assert codes(api["counter"].post(f"quotes/{row['uid']}/withdraw")) == ["ended"]
    assert "120.00" not in said(client.get(path), 200)


def test_it_is_void_once_the_estimate_has_risen(house: House, api: dict[str, Api]) -> None:
    walk, client = Walk(house, api), Client()
    put(walk)
    path = linked(walk.row.drop_off)
    more = {"what": "A hose", "amount": "40.00"}
    ok(api["counter"].post(f"drop-offs/{walk.drop_off}/charges", more), 201)

    assert "The estimate has changed" in said(client.get(path), 200)
    with nothing_changes():
        assert "The estimate has changed" in said(client.post(f"{path}/go-ahead", AGREED | {"seen": 1}), 409)


@pytest.mark.parametrize(
    "sent",
    [
        {},
        AGREED,
        {"seen": 1},
        {"answer": "maybe", "seen": 1},
        AGREED | {"seen": "-1"},
        AGREED | {"seen": "1e99"},
        AGREED | {"seen": "٣x"},
    ],
)
def test_it_takes_no_nonsense(house: House, api: dict[str, Api], sent: dict[str, Any]) -> None:
    walk = Walk(house, api)
    put(walk)
    path = linked(walk.row.drop_off)

    with nothing_changes():
        assert Client().post(f"{path}/go-ahead", sent).status_code == 400


def test_it_takes_no_amount_from_the_customer(house: House, api: dict[str, Api]) -> None:
    """P3: whoever sends an amount, a name or another drop-off along writes none of it."""
    walk, other = Walk(house, api), Walk(house, api, "second_stage")
    put(walk)
    more = {"amount": "1", "given_by": "The lead", "how": "in person", "by": "1", "drop_off": other.drop_off}
    Client().post(f"{linked(walk.row.drop_off)}/go-ahead", AGREED | {"seen": 1} | more)

    given = GoAhead.objects.get()
    assert (given.amount, given.given_by, given.how) == (12000, "Maja Lindqvist", "by link")
    assert given.drop_off == walk.row.drop_off


def test_it_refuses_what_makes_no_sense(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    other = add_customer(
        by=house.people["counter"], kind="person", name="T. Ferrier", email="", phone="", reminders=False
    )
    row = walk.row.drop_off
    row.payer = other
    row.save()
    with nothing_changes():
        answer = api["counter"].post(f"drop-offs/{walk.drop_off}/quotes", {"amount": "94.99"})
        assert codes(answer) == ["another-pays", "below-the-price"]


def test_it_agrees_to_a_supplement(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    """The hold is lifted by the customer's answer, and the go-ahead never falls below what was agreed before."""
    walk, client = Walk(house, api).to("stripping"), Client()
    walk.steps("stripping")
    row, path = asked(walk, "150.00"), linked(walk.row.drop_off)
    assert codes(walk.move("cleaning")) == ["held-customer"]
    page = said(client.get(f"{path}/more/1"), 200)
    assert "150.00 GBP" in page
    assert "245.00 GBP" in page

    sent = AGREED | {"seen": row.version, "agreed": 24500}
    with nothing_changes():
        assert client.post(f"{path}/more/1", sent | {"agreed": 1}).status_code == 412
        assert client.post(f"{path}/more/2", sent).status_code == 404
    for _ in range(2):
        assert client.post(f"{path}/more/1", sent)["Location"] == path
    assert [each.amount for each in GoAhead.objects.order_by("pk")] == [20000, 24500]
    hold = Hold.objects.get()
    assert (hold.lifted_at is not None, hold.lifted_by) == (True, None)
    assert ok(walk.move("cleaning"))["leg"] == "cleaning"
    assert "by link" in said(pages["counter"].get(f"/charges/{row.uid}"), 200)
    assert said(pages["counter"].get(f"/drop-offs/{walk.drop_off}"), 200).count("The yoke is cracked") >= 1
    assert set(
        Entry.objects.filter(verb__in=["supplement agreed", "hold lifted"]).values_list("by", flat=True)
    ) == {"customer"}

    small = asked(walk, "1.00")
    assert "may charge up to <b>246.00 GBP" in said(client.get(f"{path}/more/2"), 200)
    assert small.state == "asked"


def test_it_cuts_no_go_ahead_that_was_given_since(house: House, api: dict[str, Api]) -> None:
    """120.00 was put by letter, then 300.00 agreed on the telephone: an answer to the letter leaves that, and shows it."""
    walk, client = Walk(house, api), Client()
    put(walk)
    path = linked(walk.row.drop_off)
    ok(walk.go_ahead("300.00"), 201)

    assert client.post(f"{path}/go-ahead", AGREED | {"seen": 1}).status_code == 302

    assert [each.amount for each in GoAhead.objects.all()] == [30000]
    assert "You agreed to up to 300.00 GBP" in said(client.get(path), 200)


def test_it_adds_a_supplement_to_what_is_only_likely(house: House, api: dict[str, Api]) -> None:
    """95.00 and likely 12.50 were agreed to: 20.00 more is up to 127.50, by telephone or by link, and the link says so."""
    walk, client = Walk(house, api), Client()
    likely = {"what": "A hose", "amount": "12.50", "likely": True}
    row = ok(api["counter"].post(f"drop-offs/{walk.drop_off}/charges", likely), 201)
    put(walk, "107.50")
    path = linked(walk.row.drop_off)
    client.post(f"{path}/go-ahead", AGREED | {"seen": 1})
    more = asked(walk, "20.00")
    assert "may charge up to <b>127.50 GBP" in said(client.get(f"{path}/more/2"), 200)

    client.post(f"{path}/more/2", AGREED | {"seen": more.version, "agreed": 12750})
    assert "You agreed to up to 127.50 GBP" in said(client.get(path), 200)
    ok(api["counter"].post(f"charges/{row['uid']}/need", seen=1))
    assert not uncovered({walk.row.drop_off.pk})[walk.row.drop_off.pk]


def test_it_agrees_up_to_what_is_billed_in_the_smallest_coin(house: House, api: dict[str, Api]) -> None:
    """95.00 and 12.33 are 107.33, of which 107.35 is paid: less would not cover the work."""
    terms = {"inclusive": True, "rounding": "per rate", "coin": "0.05"}
    ok(api["lead"].post("reckoning", terms, seen=api["lead"].get("reckoning").json()["version"]))
    walk, client = Walk(house, api).to("stripping"), Client()
    GoAhead.objects.create(
        drop_off=walk.row.drop_off,
        amount=9500,
        currency="GBP",
        given_by="Maja",
        how="in person",
        said_on=today(),
        at=now(),
        by=house.people["counter"],
    )
    row, path = asked(walk, "12.33"), linked(walk.row.drop_off)

    sent = AGREED | {"seen": row.version, "agreed": 10735}
    assert client.post(f"{path}/more/1", sent)["Location"] == path

    assert GoAhead.objects.order_by("-pk")[0].amount == 10735
    assert not uncovered({walk.row.drop_off.pk})[walk.row.drop_off.pk]


def test_it_declines_a_supplement(house: House, api: dict[str, Api]) -> None:
    walk, client = Walk(house, api).to("stripping"), Client()
    row, path = asked(walk), linked(walk.row.drop_off)
    sent = DECLINED | {"seen": row.version, "agreed": 20000, "went_back": "bagged in pieces"}
    for _ in range(2):
        assert client.post(f"{path}/more/1", sent).status_code == 302

    kept = Charge.objects.get()
    assert (kept.state, kept.went_back, kept.how) == ("declined", "bagged in pieces", "by link")
    assert GoAhead.objects.count() == 1
    assert "You declined it" in said(client.get(path), 200)
    with nothing_changes():
        assert (
            client.post(f"{path}/more/1", AGREED | {"seen": row.version, "agreed": 20000}).status_code == 412
        )


def test_it_is_answered_at_the_counter_first(house: House, api: dict[str, Api]) -> None:
    """By telephone meanwhile: the link answers nothing any more."""
    walk = Walk(house, api).to("stripping")
    row, path = asked(walk), linked(walk.row.drop_off)
    told = {"answer": "agreed", "amount": "260.00", "given_by": "Maja Lindqvist", "how": "by telephone"}
    ok(api["counter"].post(f"charges/{row.uid}/answer", told, seen=row.version))

    with nothing_changes():
        sent = DECLINED | {"seen": row.version, "agreed": 20000}
        assert Client().post(f"{path}/more/1", sent).status_code == 404
    assert codes(
        api["counter"].post(f"charges/{row.uid}/answer", told | {"how": "by link"}, seen=2), 400
    ) == ["invalid_choice"]


def test_it_shows_no_amount_where_somebody_else_pays(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    asked(walk)
    put(walk, "300.00")
    row = walk.row.drop_off
    path = linked(row)
    row.payer = add_customer(
        by=house.people["counter"], kind="person", name="T. Ferrier", email="", phone="", reminders=False
    )
    row.save()

    page = said(Client().get(path), 200)
    assert "GBP" not in page
    for way in ("/go-ahead", "/more/1"):
        assert Client().get(path + way).status_code == 404
    with nothing_changes():
        assert Client().post(f"{path}/go-ahead", AGREED | {"seen": 1}).status_code == 404
