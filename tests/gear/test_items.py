"""Items: the workshop's own number, and marks that may be alike or unreadable."""

from typing import Any

from tests.conftest import Api, House
from tests.rows import said, send
from tests.walk import ok


def add(house: House, api: dict[str, Api], **more: str) -> Any:
    data = {"model": str(house.models["first_stage"].uid), "owner": str(house.customer.uid)}
    body = ok(api["counter"].post("items", data | more), 201)
    for mark in body["identifiers"]:
        assert len(mark.pop("uid")) == 36
    return body


def test_it_works(house: House, api: dict[str, Api]) -> None:
    body = add(house, api, serial="TH-1", owners_mark="blue tape")

    assert body["number"] == "E-00001"
    assert body["identifiers"] == [
        {"kind": "serial", "value": "TH-1", "state": "read"},
        {"kind": "owner's mark", "value": "blue tape", "state": "read"},
    ]


def test_it_keeps_an_empty_serial_as_unreadable(house: House, api: dict[str, Api]) -> None:
    assert add(house, api)["identifiers"] == [{"kind": "serial", "value": "", "state": "unreadable"}]


def test_it_warns_of_an_equal_serial_and_never_blocks(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    first, second = add(house, api, serial="TH-1"), add(house, api, serial="TH-1")

    assert first["uid"] != second["uid"]
    assert first["number"] in said(pages["counter"].get(f"/items/{second['uid']}"), 200)


def test_it_calls_unreadable_serials_not_equal(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    first, second = add(house, api), add(house, api)

    assert first["number"] not in said(pages["counter"].get(f"/items/{second['uid']}"), 200)


def test_it_adds_one_on_the_page(house: House, pages: dict[str, Any]) -> None:
    path = f"/customers/{house.customer.uid}/items/new"
    typed = {"model": str(house.models["first_stage"].uid), "serial": "TH-7"}

    assert send(pages["counter"], path, typed).status_code == 302
    assert house.customer.items.get().marks == "serial TH-7"


def test_its_page_offers_only_what_one_may_do(house: House, pages: dict[str, Any]) -> None:
    item = house.item()
    counter, store = (said(pages[role].get(f"/items/{item.uid}"), 200) for role in ("counter", "storekeeper"))

    assert ("Check it in" in counter, "Keep it as evidence" in counter) == (True, True)
    assert ("Check it in" in store, "Keep it as evidence" in store) == (False, False)
