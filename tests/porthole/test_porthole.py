"""The page behind the link of a drop-off: what it shows, what it never shows, and when it shows nothing."""

import re
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from jobs.porthole.actions import share
from jobs.porthole.models import Shared
from shop.clocks.models import Clock
from shop.customers.actions import add_customer, change_customer, merge_customers
from shop.customers.models import Customer
from shop.files.models import Photograph
from shop.gear.actions import change_owner, point_at
from shop.gear.models import Item
from shop.links.models import Link
from shop.workshop.reads import at, now
from tests.conftest import Api, House
from tests.photographs import encoded, form
from tests.porthole.made import linked, pictured
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok

WAYS = ("", "/ask", "/ticket.pdf")
BEHIND = (*WAYS, "/photographs/1", "/records/1.pdf", "/go-ahead", "/more/1")


def another(house: House, name: str = "Tomas Ferrier") -> Customer:
    given: dict[str, Any] = {"email": "t@ferrier.example", "phone": "+441632960418", "reminders": True}
    return add_customer(by=house.people["counter"], kind="person", name=name, **given)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    """From check-in to hand-back the page says where the gear is; then when it is due again."""
    walk = Walk(house, api)
    path, client = linked(walk.row.drop_off), Client()
    page = said(client.get(path), 200)
    assert "It is with us. Work on it has not begun." in page
    assert "Now checked in, next cleared." in page
    assert "Tuesday, 1 January 2199" in page

    walk.to("cleaning")
    assert "It is apart and is being cleaned." in said(client.get(path), 200)
    ok(
        api["counter"].post(f"jobs/{walk.job}/holds", {"kind": "parts", "why": "The maker is out of seats."}),
        201,
    )
    page = said(client.get(path), 200)
    assert "waits for a part" in page
    assert "out of seats" not in page


def test_it_shows_what_is_ready_and_when_it_is_due_again(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    path, client = linked(walk.row.drop_off), Client()
    page = said(client.get(path), 200)
    assert "Ready to collect" in page
    assert "Aldermouth Dive Workshop" in page
    assert "Due again" not in page

    ok(walk.hand_back(), 201)
    page, due = said(client.get(path), 200), Clock.objects.get().due
    assert due is not None
    assert f"{due:%-d %B %Y}" in page
    assert "Ready to collect" not in page
    assert client.get(f"{path}/records/1.pdf").content.startswith(b"%PDF-")


def test_it_warns_of_gear_that_was_not_serviced(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(walk.sign(outcome="failed", words="It creeps."), 201)

    page = said(Client().get(linked(walk.row.drop_off)), 200)
    assert "It failed its tests." in page
    assert "Do not dive with it." in page
    assert "creeps" not in page


def test_it_shows_nothing_of_who_and_of_others(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    other = another(house)
    given = {
        "customer": str(other.uid),
        "promised_on": "2199-01-01",
        "lines": [{"words": "a red bag of theirs"}],
    }
    ok(api["counter"].post("drop-offs", given), 201)
    path = linked(walk.row.drop_off)

    for way in ("", "/ask"):
        answer = Client().get(path + way)
        page = said(answer, 200)
        assert "Tarnwell Hesk" in page or way == "/ask"
        people = [person.name for person in house.people.values()]
        secrets = [
            "Lindqvist",
            "Ferrier",
            "@",
            "441632",
            "GBP",
            "S-first_stage",
            "red bag",
            "200.00",
            *people,
        ]
        assert [each for each in secrets if each in page] == [], way
        uids = re.findall(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}", page)
        assert uids == [], "no object's id stands on the page"
        assert answer["Referrer-Policy"] == "no-referrer"
        assert answer["Cache-Control"] == "no-store"
        assert "noindex" in answer["X-Robots-Tag"]
        assert not answer.cookies


def test_it_changes_nothing_by_looking(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    share(by=house.people["counter"], photograph=pictured(walk))
    path = linked(walk.row.drop_off)

    with nothing_changes():
        for way in (*WAYS, "/photographs/1"):
            for method in ("GET", "HEAD", "OPTIONS"):
                assert Client().generic(method, path + way).status_code == 200, (way, method)
        for way in ("", "/ticket.pdf", "/photographs/1"):
            for method in ("POST", "PUT", "PATCH", "DELETE"):
                assert Client().generic(method, path + way).status_code == 405, (way, method)


def test_it_shows_a_photograph_once_it_was_shared(house: House, api: dict[str, Api]) -> None:
    """Each by itself and by whoever has the right; taken back it is gone, and its number is not given again."""
    walk = Walk(house, api)
    first, second = pictured(walk, "The yoke"), pictured(walk, "The seat")
    path, client = linked(walk.row.drop_off), Client()
    assert "<img" not in said(client.get(path), 200)
    assert client.get(f"{path}/photographs/1").status_code == 404

    with nothing_changes():
        assert codes(api["technician"].post(f"photographs/{second.uid}/share"), 403) == []
    for _ in range(2):
        assert ok(api["counter"].post(f"photographs/{second.uid}/share"))["n"] == 1
    page = said(client.get(path), 200)
    assert "The seat" in page
    assert "The yoke" not in page
    answer = client.get(f"{path}/photographs/1")
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert "sandbox" in answer["Content-Security-Policy"]
    for number in (0, 2, first.pk, second.pk, 99):
        if number != 1:
            assert client.get(f"{path}/photographs/{number}").status_code == 404
    assert client.get(f"{path}/photographs/{second.uid}").status_code == 404

    assert ok(api["counter"].post(f"photographs/{second.uid}/take-back"))["ended_at"]
    assert client.get(f"{path}/photographs/1").status_code == 404
    assert codes(api["counter"].post(f"photographs/{second.uid}/take-back")) == ["not-shared"]
    assert ok(api["counter"].post(f"photographs/{second.uid}/share"))["n"] == 2


def test_it_shares_photographs_of_the_drop_off_alone(house: House, api: dict[str, Api]) -> None:
    """Not those of an item, which may have had another owner, and under no other drop-off's link."""
    walk = Walk(house, api)
    ok(api["counter"].post(f"items/{walk.item.uid}/photographs", form(encoded()), format="multipart"), 201)
    with nothing_changes():
        assert codes(api["counter"].post(f"photographs/{Photograph.objects.get().uid}/share")) == [
            "not-of-a-drop-off"
        ]

    mine, theirs = pictured(walk), pictured(Walk(house, api, "second_stage"))
    for each in (mine, theirs):
        share(by=house.people["counter"], photograph=each)
    elsewhere = Shared.objects.get(photograph=theirs)
    Shared.objects.filter(pk=elsewhere.pk).update(n=7)
    assert Client().get(f"{linked(walk.row.drop_off)}/photographs/7").status_code == 404


def test_it_shows_what_is_pointed_out_and_what_waits_for_whom(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    """The customer sees the spot; the bench the photograph as it came; the Counter that a question waits."""
    walk = Walk(house, api)
    photograph = pictured(walk)
    share(by=house.people["counter"], photograph=photograph)
    spot: dict[str, Any] = {
        "shape": "circle",
        "x": Decimal("0.5"),
        "y": Decimal("0.5"),
        "words": "The yoke is bent.",
    }
    point_at(by=house.people["counter"], photograph=photograph, **spot)
    path = linked(walk.row.drop_off)

    page = Client().get(path).content.decode()
    assert ("The yoke is bent." in page, '<circle class="under"' in page) == (True, True)
    assert "As it came" in said(pages["technician"].get(f"/jobs/{walk.job}"), 200)
    assert "Customers wait for an answer" not in said(pages["counter"].get("/counter"), 200)
    assert Client().post(f"{path}/ask", {"text": "When is it ready?"}).status_code in (302, 303)
    assert "1 question about gear that is here" in said(pages["counter"].get("/counter"), 200)


def test_it_gives_the_record_to_whoever_owns_the_gear(house: House, api: dict[str, Api]) -> None:
    """Once it is closed, and not to the one before when the gear was sold."""
    walk = Walk(house, api).to("testing")
    path, client = linked(walk.row.drop_off), Client()
    assert client.get(f"{path}/records/1.pdf").status_code == 404
    walk.steps("testing")
    walk.tests()
    ok(walk.sign(), 201)
    assert client.get(f"{path}/records/1.pdf")["Content-Type"] == "application/pdf"
    assert client.get(f"{path}/records/2.pdf").status_code == 404

    ok(walk.hand_back(), 201)
    item = Item.objects.get(pk=walk.item.pk)
    change_owner(by=house.people["counter"], item=item, seen=item.version, owner=another(house))
    assert client.get(f"{path}/records/1.pdf").status_code == 404
    page = said(client.get(path), 200)
    assert "Due again" not in page
    assert "It was handed back." in page


def test_it_shows_the_ticket_to_whoever_pays(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    row = walk.row.drop_off
    path = linked(row)
    assert Client().get(f"{path}/ticket.pdf").content.startswith(b"%PDF-")

    row.payer = another(house)
    row.save()
    assert Client().get(f"{path}/ticket.pdf").status_code == 404
    assert "Claim ticket" not in said(Client().get(path), 200)


def test_it_ends_some_days_after_hand_back(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")
    path, left = linked(walk.row.drop_off), now()

    with at(left + timedelta(days=29)):
        assert Client().get(path).status_code == 200
    with at(left + timedelta(days=31)):
        assert Client().get(path).status_code == 404
        with nothing_changes():
            assert codes(api["counter"].post(f"drop-offs/{walk.drop_off}/porthole/link")) == ["drop-off-over"]
        assert ok(api["counter"].get(f"drop-offs/{walk.drop_off}/porthole"))["links"] == 0


def test_it_answers_alike_whatever_opens_nothing(house: House, api: dict[str, Api]) -> None:
    """Unknown, another sign, ended, revoked, over, of a letter, of another customer: the same 404, byte by byte."""
    walk, other = Walk(house, api), Walk(house, api, "second_stage").to("handed_back")
    paths = [linked(walk.row.drop_off) for _ in range(5)] + [linked(other.row.drop_off)]
    links = list(Link.objects.order_by("pk"))
    change: list[dict[str, Any]] = [
        {"ends_at": now()},
        {"revoked_at": now()},
        {"purpose": "answer"},
        {"customer": another(house)},
        {"about": house.customer.uid},
        {},
    ]
    Customer.objects.update(language="de")  # what opens nothing says so in one language, whosever it was
    for link, given in zip(links, change, strict=True):
        Link.objects.filter(pk=link.pk).update(**{"purpose": "porthole"} | given)
    good = linked(walk.row.drop_off)
    paths += [
        good[:-1] + ("A" if good[-1] != "A" else "B"),
        good.swapcase().replace("/PORTHOLE", "/porthole"),
    ]
    paths += [f"/porthole/{Link.objects.order_by('-pk')[0].digest}", "/porthole/x"]

    found = set()
    with at(now() + timedelta(days=31)):
        for n, path in enumerate(paths):
            client = Client(REMOTE_ADDR=f"192.0.2.{n}")
            for way in BEHIND:
                for method in ("GET", "POST"):
                    answer = client.generic(method, path + way)
                    headers = tuple(sorted((k, v) for k, v in answer.headers.items()))
                    found.add((answer.status_code, answer.content, headers))
        assert Client().get(good).status_code == 200
    assert len(found) == 1
    assert next(iter(found))[0] == 404


def test_it_ends_with_the_address_and_by_the_counter(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    """Whoever reads the old mailbox sees nothing more; the counter ends the links of one drop-off and no others."""
    walk, second = Walk(house, api), Walk(house, api, "second_stage")
    path, other = linked(walk.row.drop_off), linked(second.row.drop_off)
    where = f"/drop-offs/{walk.drop_off}/porthole"
    assert "1 private link to it is open" in said(pages["counter"].get(where), 200)
    assert codes(api["technician"].post(f"drop-offs/{walk.drop_off}/porthole/end"), 403) == []
    assert send(pages["counter"], f"{where}/end", {}).status_code == 302
    assert Client().get(path).status_code == 404
    assert codes(api["counter"].post(f"drop-offs/{walk.drop_off}/porthole/end")) == ["no-links"]
    assert Client().get(other).status_code == 200

    told: dict[str, Any] = {"email": "maja@elsewhere.example"}
    change_customer(by=house.people["counter"], customer=house.customer, seen=1, **told)
    assert Client().get(other).status_code == 404


def test_it_follows_a_merged_customer(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    path = linked(walk.row.drop_off)
    keep = another(house, "Maja Lindqvist-Roe")
    merge_customers(by=house.people["counter"], keep=keep, lose=house.customer, seen=keep.version)

    assert Client().get(path).status_code == 200
    assert ok(api["counter"].post(f"drop-offs/{walk.drop_off}/porthole/end"))["links"] == 0
    assert Client().get(path).status_code == 404


@pytest.mark.parametrize("way", ["/records/1.pdf", "/photographs/1"])
@pytest.mark.parametrize("number", ["999999999999999999999", "-1", "1e3", "%31", "1/../2"])
def test_it_takes_nonsense_for_nothing(house: House, api: dict[str, Api], way: str, number: str) -> None:
    path = linked(Walk(house, api).row.drop_off)

    assert Client().get(path + way.replace("1", number, 1)).status_code == 404
