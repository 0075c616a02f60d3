"""Packs of what is measured out: a pack of which a part came is nothing special, because the store counts its smallest unit."""

from typing import Any

from shop.orders.actions import draft_order, send_order
from shop.orders.reads import sheet
from shop.stock.actions import add_part
from shop.stock.models import Lot
from shop.suppliers.actions import add_offer, add_supplier
from tests.conftest import Api, House
from tests.printed import text_of
from tests.rows import codes, nothing_changes, said
from tests.walk import ok


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """Two tubes of 50 g are sent for; 70 g of them come, so one tube and a part of the other."""
    by = house.people["storekeeper"]
    given: dict[str, Any] = {"material": "", "life_months": None, "life_source": ""}
    part = add_part(by=by, number="GR-1", name="Grease", unit="g", **given)
    supplier = add_supplier(by=by, name="Vantry Seals", email="orders@vantry.example", lead_days=7)
    offer = add_offer(by=by, part=part, supplier=supplier, number="V-G", pack_size=50, price=1000)
    order = draft_order(by=by, supplier=supplier, lines=[(offer, 2)])
    order = send_order(by=by, order=order, seen=order.version, how="paper")
    path = f"order-lines/{order.lines.get().uid}/receipts"

    ok(api["storekeeper"].post(path, {"number": "T-7", "quantity": 70}), 201)

    lot = Lot.objects.get(number="T-7")
    receipt = lot.movements.get()
    assert (lot.on_hand, receipt.cost) == (70, 1400)
    (row,) = ok(api["counter"].get(f"orders/{order.uid}"))["lines"]
    assert (row["pack_size"], row["came"], row["missing"], row["unit"]) == (50, 70, 30, "g")
    shown = said(pages["storekeeper"].get(f"/store/orders/{order.uid}"), 200)
    for words in ("2 packs of 50 g", "100 g", "70 g", "30 g missing"):
        assert words in shown
    assert "V-G 2 50 100 g 10.00" in text_of(api["counter"].get(f"orders/{order.uid}/order.pdf").content)
    with nothing_changes():
        assert codes(api["storekeeper"].post(path, {"number": "T-7", "quantity": 31})) == [
            "more-than-ordered"
        ]
    ok(api["storekeeper"].post(path, {"number": "T-7", "quantity": 30}), 201)
    order.refresh_from_db()
    assert sheet(order).standing == "closed"
