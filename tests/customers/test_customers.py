"""Customers over both doors."""

from typing import Any

import pytest

from shop.customers.models import Customer
from tests.conftest import Api, House
from tests.rows import nothing_changes, pointers, said, send
from tests.walk import ok

DATA = {"kind": "person", "name": "Tomas Ferrier"}


def test_it_works(house: House, api: dict[str, Api]) -> None:
    body = ok(api["counter"].post("customers", DATA | {"phone": "+44 1632 960 418"}), 201)

    assert (body["number"], body["phone"], body["version"]) == ("K-0002", "+441632960418", 1)
    assert body["reminders"] is False, "nobody gets reminders without a yes"


@pytest.mark.parametrize(
    "phone", ["01632 960418", "+", "+44", "+44 1632 9604180000", "call me", "+999999999"]
)
def test_it_asks_for_a_phone_number_in_international_form(
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
