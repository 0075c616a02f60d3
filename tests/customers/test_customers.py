"""Customers over both doors."""

from typing import Any

import pytest

from shop.customers.models import Customer
from shop.customers.shapes import DIGITS
from shop.workshop.models import Workshop
from tests.conftest import Api, House
from tests.rows import nothing_changes, pointers, said, send, sentences
from tests.walk import ok

DATA = {"kind": "person", "name": "Tomas Ferrier"}


def test_it_works(house: House, api: dict[str, Api]) -> None:
    given = DATA | {"phone": "+44 1632 960 418", "postal": "7 Slipway Street\nAldermouth"}
    body = ok(api["counter"].post("customers", given), 201)

    assert (body["number"], body["phone"], body["version"]) == ("K-0002", "+441632960418", 1)
    assert body["postal"] == given["postal"]
    assert body["reminders"] is False, "nobody gets reminders without a yes"


@pytest.mark.parametrize(
    ("zone", "phone", "kept"),
    [
        ("Europe/London", "01632 960418", "+441632960418"),
        ("Europe/London", "+49 30 12345678", "+493012345678"),
        ("Europe/London", "0049 30 12345678", "+493012345678"),
        ("Europe/Berlin", "030 12345678", "+493012345678"),
        ("America/New_York", "011 49 30 12345678", "+493012345678"),
        ("America/New_York", "(212) 555-0123", "+12125550123"),
        ("UTC", "+44 1632 960418", "+441632960418"),
    ],
)
def test_it_takes_a_phone_number_without_a_country_as_one_of_the_workshops(
    house: House, api: dict[str, Api], zone: str, phone: str, kept: str
) -> None:
    Workshop.objects.update(zone=zone)

    assert ok(api["counter"].post("customers", DATA | {"phone": phone}), 201)["phone"] == kept


def test_it_asks_for_the_country_code_where_the_zone_names_no_country(
    house: House, api: dict[str, Api]
) -> None:
    Workshop.objects.update(zone="UTC")

    refused = api["counter"].post("customers", DATA | {"phone": "01632 960418"})

    assert sentences(refused, 400) == [DIGITS]


@pytest.mark.parametrize(
    "phone",
    [
        "12",
        "960417",
        "+44 960417",
        "+",
        "+44",
        "+44 1632 9604180000",
        "call me",
        "+999999999",
        "01632 96o417",
        "0800 DIVES",
        "01632 960417 ext 4",
        "0000000000",
    ],
)
def test_it_refuses_what_is_no_phone_number(
    house: House, api: dict[str, Api], pages: dict[str, Any], phone: str
) -> None:
    with nothing_changes():
        assert pointers(api["counter"].post("customers", DATA | {"phone": phone})) == ["/phone"]
        page = send(pages["counter"], "/customers/new", DATA | {"phone": phone})

    assert 'class="field-error"' in said(page, 400)


@pytest.mark.parametrize(
    "email",
    [
        '"maja"@lindqvist.example', '"a b"@lindqvist.example', "=?utf-8?q?maja?=@lindqvist.example",
        "maja\nBcc: tomas@ferrier.example", "maja\x01@lindqvist.example", "maja@lindqvist.example\nTo: x",
        "maja", "maja@", "@lindqvist.example", "maja@lindqvist.example, tomas@ferrier.example",
    ],
)  # fmt: skip
def test_it_refuses_an_address_that_no_letter_can_carry(
    house: House, api: dict[str, Api], pages: dict[str, Any], email: str
) -> None:
    with nothing_changes():
        assert pointers(api["counter"].post("customers", DATA | {"email": email})) == ["/email"]
        page = send(pages["counter"], "/customers/new", DATA | {"email": email})

    assert 'class="field-error"' in said(page, 400)


def test_it_finds_customers_by_part_of_their_name(house: House, api: dict[str, Api]) -> None:
    ok(api["counter"].post("customers", DATA), 201)

    found = ok(api["counter"].get("customers?name=LINDQ"))["results"]

    assert [row["name"] for row in found] == ["Maja Lindqvist"]


def test_it_pages_newest_first_and_misses_nobody(house: House, api: dict[str, Api]) -> None:
    for n in range(5):
        ok(api["counter"].post("customers", DATA | {"name": f"No. {n}"}), 201)

    for nonsense in ("abc", "0", "-1", ""):
        assert pointers(api["counter"].get(f"customers?limit={nonsense}")) == ["/limit"]
    names, path = [], "customers?limit=2"
    while path:
        body = ok(api["counter"].get(path))
        names += [row["name"] for row in body["results"]]
        path = (body["next"] or "").partition("/api/v1/")[2]

    assert names == ["No. 4", "No. 3", "No. 2", "No. 1", "No. 0", "Maja Lindqvist"]


def test_it_changes_on_the_page(house: House, pages: dict[str, Any]) -> None:
    path = f"/customers/{house.customer.uid}/change"

    page = send(pages["counter"], path, {"kind": "organisation", "name": "Skerry Divers"})

    assert page["Location"] == f"/customers/{house.customer.uid}"
    row = Customer.objects.get()
    assert (row.kind, row.name, row.reminders, row.version) == ("organisation", "Skerry Divers", False, 2)
