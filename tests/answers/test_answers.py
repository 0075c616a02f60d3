"""Answers by the link of a letter: what is shown, what they do at once, and what the counter makes of them."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from jobs.answers.models import Answer, Settled
from jobs.reminders.actions import remind, set_ladder
from shop.clocks.models import Clock
from shop.customers.actions import add_customer
from shop.files.models import Document
from shop.gear.actions import add_item, change_owner
from shop.gear.models import Item
from shop.journal.models import Entry
from shop.links.actions import revoke_links
from shop.post.models import Letter
from shop.workshop.reads import at, noon, today
from tests.answers.made import linked, overdue
from tests.conftest import Api, House
from tests.photographs import PDF, upload
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok

WAYS = ("", "/elsewhere", "/gone", "/address", "/fewer", "/one-click")


def elsewhere(clock: Clock, **more: Any) -> dict[str, Any]:
    day = (today() - timedelta(days=3)).isoformat()
    return {"clock": str(clock.uid), "day": day, "elsewhere": "Skerry Divers"} | more


def waits(api: dict[str, Api]) -> str:
    """The uid of the one answer that waits."""
    rows = [row for row in ok(api["counter"].get("answers"))["results"] if row["became"] == "waits"]
    assert len(rows) == 1
    return str(rows[0]["uid"])


def test_it_works(house: House, api: dict[str, Api]) -> None:
    """The claim stops letters at once; the clock moves when the counter has confirmed it."""
    clock, path, client = overdue(house), linked(house), Client()
    sent = elsewhere(clock, document=upload(PDF))
    assert send(client, f"{path}/elsewhere", sent)["Location"] == path

    assert remind(on=today()) == 0
    before = Clock.objects.get(pk=clock.pk).due
    row = ok(api["counter"].post(f"answers/{waits(api)}/confirm"))
    assert (row["became"], row["said"]) == ("confirmed", "done elsewhere")
    after = Clock.objects.get(pk=clock.pk).due
    assert before is not None
    assert after is not None
    assert after > before
    assert codes(api["counter"].post(f"answers/{row['uid']}/confirm")) == ["settled"]


def test_it_shows_titles_and_days_only(house: House) -> None:
    overdue(house)
    path = linked(house)
    other = add_customer(
        by=house.people["counter"], kind="person", name="Tomas Ferrier", email="t@ferrier.example",
        phone="+441632960418", reminders=True,
    )  # fmt: skip
    add_item(
        by=house.people["counter"],
        owner=other,
        model=house.models["second_stage"],
        serial="X",
        owners_mark="",
    )

    for way in WAYS:
        answer = Client().get(path + way)
        page = said(answer, 200)
        assert ("Tarnwell Hesk" in page) == (way in ("", "/elsewhere", "/gone")), way
        for secret in ("Lindqvist", "Ferrier", "@", "441632", "GBP", "TH-1", str(house.customer.uid)):
            assert secret not in page, (way, secret)
        assert answer["Referrer-Policy"] == "no-referrer"
        assert answer["Cache-Control"] == "no-store"
        assert "noindex" in answer["X-Robots-Tag"]
        assert not answer.cookies


def test_it_changes_nothing_by_looking(house: House) -> None:
    overdue(house)
    path = linked(house)

    with nothing_changes():
        for way in WAYS:
            for method in ("GET", "HEAD", "OPTIONS"):
                assert Client().generic(method, path + way).status_code == 200


@pytest.mark.parametrize("word", ["sold", "lost", "put away dry"])
def test_it_is_gone_once_the_counter_says_so(house: House, api: dict[str, Api], word: str) -> None:
    clock, path, client = overdue(house), linked(house), Client()
    send(client, f"{path}/gone", {"item": str(clock.item.uid), "said": word})

    assert remind(on=today()) == 0
    assert Item.objects.get(pk=clock.item_id).standing == "in use"
    ok(api["counter"].post(f"answers/{waits(api)}/confirm"))
    assert Item.objects.get(pk=clock.item_id).standing == word
    assert "Nothing is due" in said(client.get(path), 200)


def test_it_goes_on_when_set_aside(house: House, pages: dict[str, Client]) -> None:
    clock, path = overdue(house), linked(house)
    send(Client(), f"{path}/gone", {"item": str(clock.item.uid), "said": "sold"})
    assert remind(on=today()) == 0
    page = said(pages["counter"].get("/answers"), 200)
    assert "Sold" in page
    uid = Answer.objects.get().uid

    assert send(pages["counter"], f"/answers/{uid}/set-aside", {})["Location"] == "/answers"
    assert "No answer waits." in said(pages["counter"].get("/answers"), 200)
    assert "set aside" in said(pages["counter"].get(f"/customers/{house.customer.uid}"), 200)
    assert remind(on=today()) == 1


def test_it_ends_with_the_owner(house: House, api: dict[str, Api]) -> None:
    """What the one before said of gear that passed on neither keeps letters from the new owner nor marks it."""
    clock, path, by = overdue(house), linked(house), house.people["counter"]
    send(Client(), f"{path}/gone", {"item": str(clock.item.uid), "said": "sold"})
    given: dict[str, Any] = {"name": "Tomas Ferrier", "email": "t@ferrier.example", "phone": ""}
    other = add_customer(by=by, kind="person", reminders=True, **given)
    item = Item.objects.get(pk=clock.item_id)
    change_owner(by=by, item=item, seen=item.version, owner=other)

    with nothing_changes():
        assert codes(api["counter"].post(f"answers/{waits(api)}/confirm")) == ["passed-on"]
    assert remind(on=today()) == 1
    ok(api["counter"].post(f"answers/{waits(api)}/set-aside"))


def test_it_asks_for_proof(house: House, api: dict[str, Api]) -> None:
    clock, path = overdue(house), linked(house)
    send(Client(), f"{path}/elsewhere", elsewhere(clock))

    assert codes(api["counter"].post(f"answers/{waits(api)}/confirm")) == ["no-proof"]
    assert Settled.objects.count() == 0


def test_it_takes_another_address_after_a_call(house: House, api: dict[str, Api]) -> None:
    overdue(house)
    path = linked(house)
    for _ in range(2):
        send(Client(), f"{path}/address", {"email": "maja@elsewhere.example"})

    with nothing_changes():
        assert send(Client(), f"{path}/address", {"email": "m@third.example"}).status_code == 409
    house.customer.refresh_from_db()
    assert house.customer.email == "maja@lindqvist.example"
    assert remind(on=today()) == 0, "nobody knows which of the two is read"
    row = ok(api["counter"].post(f"answers/{waits(api)}/confirm"))
    house.customer.refresh_from_db()
    assert row["email"] == house.customer.email == "maja@elsewhere.example"
    assert Client().get(path).status_code == 404, "the link went to the old address"
    assert remind(on=today()) == 1


def test_it_writes_fewer(house: House) -> None:
    """Of a clock due in 28 days, due since today, and due for 35 days, the last two bring a letter."""
    path = linked(house)
    send(Client(), f"{path}/fewer", {})
    house.customer.refresh_from_db()
    assert house.customer.fewer

    for serial, days in (("early", 340), ("late", 400), ("on the day", 365)):
        overdue(house, serial, days)
    assert remind(on=today()) == 1
    assert '"clocks":2' in Entry.objects.get(verb="reminder written").facts


@pytest.mark.parametrize(
    ("rungs", "days"), [([30], [30]), ([30, 60], [30]), ([0, 7, 14], [0]), ([-14, 5], [0]), ([-14], [0])]
)
def test_it_writes_one_by_any_ladder(house: House, rungs: list[int], days: list[int]) -> None:
    """One letter for a due date: on the day or at the first rung after it."""
    set_ladder(by=house.people["lead"], clock="service", rungs=rungs, seen=0)
    send(Client(), f"{linked(house)}/fewer", {})
    due = overdue(house, "TH-1", 330).due
    assert due is not None

    found = []
    for n in (-14, 0, 5, 7, 14, 30, 60, 90):
        day = due + timedelta(days=n)
        with at(noon(day)):
            found += [n] * remind(on=day)
    assert found == days


def test_it_is_harmless_twice(house: House) -> None:
    clock, path, client = overdue(house), linked(house), Client()
    for _ in range(2):
        send(client, f"{path}/elsewhere", elsewhere(clock, document=upload(PDF)))
        send(client, f"{path}/gone", {"item": str(clock.item.uid), "said": "lost"})
        send(client, f"{path}/fewer", {})

    assert [row.said for row in Answer.objects.all()] == ["done elsewhere", "lost", "fewer letters"]
    assert Document.objects.filter(subject__startswith="answer:").count() == 1
    assert Entry.objects.filter(verb="answered by link", by="customer").count() == 3


def test_it_takes_nothing_of_others(house: House, api: dict[str, Api]) -> None:
    """Another's clock or item is refused as one that there never was; nonsense with every reason."""
    overdue(house)
    path, client, by = linked(house), Client(), house.people["counter"]
    other = add_customer(by=by, kind="person", name="T", email="t@t.example", phone="", reminders=True)
    house.customer = other
    foreign = overdue(house, "theirs")

    with nothing_changes():
        mine = send(client, f"{path}/gone", {"item": str(foreign.item.uid), "said": "sold"})
        none = send(client, f"{path}/gone", {"item": "00000000-0000-4000-8000-000000000000", "said": "sold"})
        assert (mine.status_code, none.status_code) == (409, 409)
        assert send(client, f"{path}/elsewhere", elsewhere(foreign)).status_code == 409
        wrong = send(client, f"{path}/elsewhere", {"clock": "x", "day": "yesterday"})
        assert wrong.status_code == 400
        assert len(wrong.context["form"].wrong) == 3
        ahead = (today() + timedelta(days=1)).isoformat()
        assert send(client, f"{path}/elsewhere", elsewhere(foreign, day=ahead)).status_code == 409


def test_it_ends_with_its_link(house: House) -> None:
    clock, path, client = overdue(house), linked(house), Client()
    revoke_links(by=house.people["counter"], customer=house.customer)

    with nothing_changes():
        assert client.get(path).status_code == 404
        sold = {"item": str(clock.item.uid), "said": "sold"}
        assert client.post(f"{path}/gone", sold).status_code == 404
    assert Letter.objects.count() == 0
