"""A wrong receipt taken back; an order found by its number and supplier; its lines as a file."""

import csv
import io
from typing import Any

import pytest
from django.test import Client

from shop.journal.models import Entry
from shop.orders.models import Receipt
from shop.orders.rules import taking_back_refusals
from shop.stock.models import Bin, Lot, Movement
from shop.value.reads import worth
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.orders.made import Ordered, ordered
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok

WHY = {"reason": "it was the other bag"}


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ({}, []),
        ({"on_hand": 9, "there": 9}, ["already-gone"]),
        ({"on_hand": 30, "there": 9}, ["not-enough-there"]),
        ({"before": True, "on_hand": 0, "there": 0}, ["taken-back"]),
    ],
)
def test_what_may_be_taken_back(given: dict[str, Any], found: list[str]) -> None:
    whole: dict[str, Any] = {"quantity": 10, "on_hand": 10, "there": 10, "unit": "g", "before": False}
    assert [each.code for each in taking_back_refusals("K-1", "Store", **(whole | given))] == found


@pytest.fixture
def made(house: House) -> Ordered:
    return ordered(house)


@pytest.fixture
def keeper(api: dict[str, Api]) -> Api:
    return api["storekeeper"]


def came(keeper: Api, made: Ordered, quantity: int, **given: Any) -> Receipt:
    """So many came into lot K-1; the receipt of that."""
    body = {"number": "K-1", "cured": "2Q26", "quantity": quantity}
    ok(keeper.post(f"order-lines/{made.line.uid}/receipts", body | given), 201)
    return Receipt.objects.latest("pk")


def test_it_works(keeper: Api, made: Ordered) -> None:
    """The order had closed by itself and waits again; the right number can be received then, and costs what it did."""
    receipt = came(keeper, made, 10)
    made.sent.refresh_from_db()
    assert made.sent.state == "closed"

    sheet = ok(keeper.post(f"receipts/{receipt.uid}/take-back", WHY))

    (row,) = sheet["lines"]
    assert (sheet["standing"], row["came"], row["missing"]) == ("sent", 0, 10)
    assert [(each["quantity"], each["taken_back"]) for each in row["receipts"]] == [(10, True)]
    lot = Lot.objects.get(number="K-1")
    assert lot.on_hand == 0
    assert list(lot.movements.order_by("pk").values_list("verb", "quantity")) == [
        ("receive", 10),
        ("take back", -10),
    ]
    told = Entry.objects.filter(verb="receipt taken back").values_list("subject", flat=True)
    assert set(told) == {f"order:{made.sent.uid}", f"part:{lot.part.uid}"}

    came(keeper, made, 8, cost="10.40")
    (row,) = ok(keeper.get(f"orders/{made.sent.uid}"))["lines"]
    assert (row["came"], row["missing"]) == (8, 2)
    # The mean is of what stands: 8 for 10.40, not 18 for 22.90.
    assert [each.cost for each in worth(today()).rows if each.lot == lot] == [1040]


def test_what_is_gone_is_not_taken_back(keeper: Api, made: Ordered, api: dict[str, Api]) -> None:
    receipt = came(keeper, made, 10)
    lot = Lot.objects.get(number="K-1")
    address = f"receipts/{receipt.uid}/take-back"
    shelf = ok(keeper.post("bins", {"site": "Workshop", "label": "A 3"}), 201)["uid"]
    moved: dict[str, Any] = {"verb": "move", "quantity": 4, "subject": "nearer"}
    here = str(Bin.objects.exclude(uid=shelf).get().uid)
    ok(keeper.post(f"lots/{lot.uid}/movements", moved | {"bin": here, "to": shelf}), 201)
    with nothing_changes():
        assert codes(keeper.post(address, WHY)) == ["not-enough-there"]
        assert api["technician"].post(address, WHY).status_code == 403
        assert keeper.post(address, {"reason": ""}).status_code == 400
    ok(keeper.post(f"lots/{lot.uid}/movements", moved | {"bin": shelf, "to": here}), 201)
    ok(keeper.post(f"lots/{lot.uid}/movements", {"quantity": 1, "subject": "a trial"}), 201)
    with nothing_changes():
        assert codes(keeper.post(address, WHY)) == ["already-gone"]
    ok(
        keeper.post(f"lots/{lot.uid}/movements", {"verb": "return", "quantity": 1, "subject": "not used"}),
        201,
    )
    ok(keeper.post(address, WHY))
    with nothing_changes():
        assert codes(keeper.post(address, WHY)) == ["taken-back"]
    assert Movement.objects.filter(takes_back=receipt.movement).count() == 1


def test_an_order_that_somebody_closed_stays_closed(keeper: Api, made: Ordered) -> None:
    receipt = came(keeper, made, 3)
    ok(keeper.post(f"orders/{made.sent.uid}/close", {"reason": "not made any more"}))
    assert (
        ok(keeper.post(f"receipts/{receipt.uid}/take-back", WHY))["standing"]
        == "closed, 10 pieces not received"
    )


def test_it_is_taken_back_by_the_pages(keeper: Api, made: Ordered, pages: dict[str, Client]) -> None:
    receipt = came(keeper, made, 3)
    page = pages["storekeeper"]
    address = f"/store/receipts/{receipt.uid}/take-back"
    assert f'href="{address}"' in said(page.get(f"/store/orders/{made.sent.uid}"), 200)
    assert "3 pieces of TH-302 TH-302 into lot K-1." in said(page.get(address), 200)

    send(page, address, WHY)

    shown = said(page.get(f"/store/orders/{made.sent.uid}"), 200)
    assert "taken back" in shown
    assert f'href="{address}"' not in shown


def test_an_order_is_found(keeper: Api, made: Ordered, pages: dict[str, Client]) -> None:
    """By its number and by the name that its supplier has now."""
    address = f"/store/orders/{made.sent.uid}"
    assert pages["counter"].get("/find", {"q": made.sent.label})["Location"] == address
    assert address in said(pages["counter"].get("/find", {"q": "vantry"}), 200)

    renamed = {"name": "Vantree Seals", "email": "orders@vantry.example", "lead_days": 7}
    ok(keeper.put(f"suppliers/{made.supplier.uid}", renamed, made.supplier.version))

    assert address in said(pages["counter"].get("/find", {"q": "vantree"}), 200)
    assert address not in said(pages["counter"].get("/find", {"q": "vantry"}), 200)


def test_its_lines_are_a_file(api: dict[str, Api], made: Ordered, pages: dict[str, Client]) -> None:
    """The same over both doors as beside the letter."""
    address = f"/orders/{made.sent.uid}/order.csv"
    by_page = pages["counter"].get(address)
    by_api = api["counter"].client.get(f"/api/v1{address}", headers={"Accept": "text/csv"})
    assert by_page.content == by_api.content
    assert by_page["Content-Disposition"] == f'attachment; filename="order-{made.sent.number}.csv"'
    rows = list(csv.reader(io.StringIO(by_page.content.decode(), newline="")))
    assert rows[1] == [made.sent.label, "TH-302", "TH-302", "V-302", "1", "10", "10", "pieces", "12.50"]
    assert f'href="{address}"' in said(pages["counter"].get(f"/store/orders/{made.sent.uid}"), 200)
