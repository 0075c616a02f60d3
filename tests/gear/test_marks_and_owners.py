"""More marks on an item, what is thought of them, and who owns it."""

from typing import Any

import pytest
from django.test import Client

from shop.customers.actions import add_customer
from shop.gear.models import Identifier
from shop.journal.models import Entry
from shop.journal.reads import faults
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.threads import statuses, together
from tests.walk import ok


def marks(body: Any) -> list[tuple[str, str, str]]:
    return [(mark["kind"], mark["value"], mark["state"]) for mark in body["identifiers"]]


def test_it_works(house: House, api: dict[str, Api]) -> None:
    item = house.item(serial="TH-1")
    path = f"items/{item.uid}/identifiers"

    ok(api["technician"].post(path, {"kind": "owner's mark", "value": "blue tape"}, seen=1))
    body = ok(api["technician"].post(path, {"kind": "serial"}, seen=2))

    assert marks(body) == [
        ("serial", "TH-1", "read"), ("owner's mark", "blue tape", "read"), ("serial", "", "unreadable"),
    ]  # fmt: skip
    assert body["version"] == 3
    assert list(faults()) == []


def test_it_warns_of_an_equal_serial_and_never_blocks(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    first, second = house.item(serial="TH-1"), house.item(serial="")
    path = f"items/{second.uid}/identifiers"

    body = ok(api["counter"].post(path, {"kind": "serial", "value": "TH-1"}, seen=1))

    assert body["alike"] == [first.label]
    assert first.label in said(pages["counter"].get(f"/items/{second.uid}"), 200)


def test_it_warns_on_adding_an_item(house: House, api: dict[str, Api]) -> None:
    first = house.item(serial="TH-1")
    data = {"model": str(first.model.uid), "owner": str(house.customer.uid), "serial": "TH-1"}

    assert ok(api["counter"].post("items", data), 201)["alike"] == [first.label]


@pytest.mark.parametrize(("state", "shown"), [("disputed", "disputed"), ("unreadable", "unreadable")])
def test_it_judges_a_mark_on_the_page(house: House, pages: dict[str, Client], state: str, shown: str) -> None:
    item = house.item(serial="TH-1")
    mark = item.identifiers.get()

    answer = send(pages["technician"], f"/identifiers/{mark.uid}/state", {"state": state})

    assert answer["Location"] == f"/items/{item.uid}"
    page = said(pages["technician"].get(f"/items/{item.uid}"), 200)
    assert f'TH-1 <span class="sign caution">{shown}</span>' in page
    assert Entry.objects.get(verb="mark judged").subject == f"item:{item.uid}"


def test_it_refuses_marks(house: House, api: dict[str, Api]) -> None:
    item, blank = house.item(serial="TH-1"), house.item(serial="")
    mark, path = blank.identifiers.get(), f"items/{item.uid}/identifiers"

    with nothing_changes():
        assert codes(api["counter"].post(path, {"kind": "serial", "value": "TH-1"}, seen=1)) == [
            "mark-stands"
        ]
        assert codes(api["counter"].post(path, {"kind": "serial", "value": "B"}, seen=2), 412) == []
        assert codes(api["storekeeper"].post(path, {"kind": "serial", "value": "B"}, seen=1), 403) == []
        assert pointers(api["counter"].post(path, {"kind": "tattoo", "value": "x" * 81}, seen=1)) == [
            "/kind",
            "/value",
        ]
        for state in ("read", "disputed"):
            answer = api["counter"].post(f"identifiers/{mark.uid}/state", {"state": state}, seen=1)
            assert codes(answer) == ["nothing-read"]


def test_it_passes_to_another_owner(house: House, api: dict[str, Api]) -> None:
    item, counter = house.item(), house.people["counter"]
    other = add_customer(by=counter, kind="person", name="Tomas", email="", phone="", reminders=False)

    body = ok(api["counter"].post(f"items/{item.uid}/owner", {"owner": "K-0002"}, seen=1))

    assert (body["owner"], body["version"]) == (str(other.uid), 2)
    told = dict(Entry.objects.filter(verb__startswith="item ").values_list("subject", "verb"))
    assert told == {
        f"customer:{house.customer.uid}": "item passed on",
        f"customer:{other.uid}": "item taken over",
    }


def test_it_passes_on_the_page(house: House, pages: dict[str, Client]) -> None:
    item, counter = house.item(), house.people["counter"]
    other = add_customer(by=counter, kind="person", name="Tomas", email="", phone="", reminders=False)

    answer = send(pages["counter"], f"/items/{item.uid}/owner", {"owner": str(other.uid)})

    assert answer["Location"] == f"/items/{item.uid}"
    assert other.items.get() == item


def test_it_refuses_owners(house: House, api: dict[str, Api]) -> None:
    item = house.item()
    path = f"items/{item.uid}/owner"

    with nothing_changes():
        assert codes(api["counter"].post(path, {"owner": "K-0001"}, seen=1)) == ["same-owner"]
        assert codes(api["counter"].post(path, {"owner": "K-0001"}, seen=2), 412) == []
        assert codes(api["storekeeper"].post(path, {"owner": "K-0001"}, seen=1), 403) == []
        assert pointers(api["counter"].post(path, {"owner": "K-0077"}, seen=1)) == ["/owner"]


@pytest.mark.usefixtures("real_database")
def test_it_takes_the_first_of_many_changes_at_once(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    item, counter = house.item(), house.people["counter"]
    for n in range(4):
        add_customer(by=counter, kind="person", name=f"No. {n}", email="", phone="", reminders=False)

    def act(i: int) -> Any:
        if i % 2:
            return Api(counter).post(f"items/{item.uid}/owner", {"owner": f"K-{2 + i // 2}"}, seen=1)
        data = {"kind": "serial", "value": f"N-{i}"}
        return Api(counter).post(f"items/{item.uid}/identifiers", data, seen=1)

    assert statuses(together(8, act)) == {200: 1, 412: 7}
    assert Identifier.objects.count() <= 2
    assert list(faults()) == []
