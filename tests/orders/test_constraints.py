"""What the database itself states of suppliers, orders and costs: raw SQL tries to break each, on the engine of the run."""

from typing import Any

import pytest

from shop.orders.actions import close_order, receive_line
from tests.conftest import Api, House
from tests.guards.conftest import stage as stage
from tests.guards.raw import POSTGRESQL, a_row, again, changed, refused
from tests.orders.made import Ordered, ordered

SENT = {"state": "sent", "how": "paper", "sent_at": "2026-11-25 12:00:00+00:00", "sent_by_id": 1}


@pytest.fixture(scope="module")
def made_of_the_file(stage: tuple[House, dict[str, Api]]) -> Ordered:
    house = stage[0]
    found = ordered(house)
    given: dict[str, Any] = {"number": "TH-302-N", "cured": "2Q26", "quantity": 4}
    receive_line(by=house.people["storekeeper"], line=found.line, **given)
    return found


@pytest.fixture
def made(made_of_the_file: Ordered, db: None) -> Ordered:
    """An order of which four of ten pieces came, and a draft."""
    return made_of_the_file


def test_it_works(made: Ordered) -> None:
    """Harmless copies and changes pass, so that a refusal below is the constraint's own."""
    changed("suppliers_offer", pack_size=5, price=0)
    changed("orders_draftline", packs=1)
    changed("suppliers_supplier", lead_days=None)
    again("stock_movement", cost=None)


@pytest.mark.parametrize(
    ("name", "of_sqlite", "table", "changes"),
    [
        ("suppliers_supplier_name", "suppliers_supplier.name", "suppliers_supplier", {}),
        ("offer_once", "suppliers_offer.part_id, suppliers_offer.supplier_id", "suppliers_offer", {}),
        ("order_one_draft_a_supplier", "orders_order.supplier_id", "orders_order", {"number": 9001}),
        ("orders_order_number", "orders_order.number", "orders_order", SENT),
        ("draft_line_once", "orders_draftline.order_id, orders_draftline.offer_id", "orders_draftline", {}),
        ("order_line_once", "orders_line.order_id, orders_line.part_id", "orders_line", {}),
        ("orders_receipt_movement_id", "orders_receipt.movement_id", "orders_receipt", {}),
    ],
)
def test_what_stands_once(
    made: Ordered, name: str, of_sqlite: str, table: str, changes: dict[str, Any]
) -> None:
    with refused(name if POSTGRESQL else of_sqlite):
        again(table, **changes)


@pytest.mark.parametrize(
    ("name", "table", "changes"),
    [
        ("offer_of_pieces", "suppliers_offer", {"pack_size": 0}),
        ("draft_line_of_packs", "orders_draftline", {"packs": 0}),
        ("order_sent_by_somebody", "orders_order", {"state": "sent"}),
        ("order_sent_by_somebody", "orders_order", {"state": "lost"}),
        ("order_sent_by_somebody", "orders_order", {"how": "paper"}),
        ("order_sent_by_somebody", "orders_order", {"expected_on": "2026-11-25"}),
        ("order_sent_by_somebody", "orders_order", SENT | {"how": "pigeon"}),
        ("order_sent_by_somebody", "orders_order", SENT | {"sent_at": None}),
        ("order_closed_by_somebody", "orders_order", SENT | {"state": "closed"}),
        ("order_closed_by_somebody", "orders_order", SENT | {"reason": "sold out"}),
    ],
)
def test_what_no_row_may_become(made: Ordered, name: str, table: str, changes: dict[str, Any]) -> None:
    with refused(name):
        changed(table, **changes)


@pytest.mark.parametrize(
    ("name", "table", "changes"),
    [
        ("order_line_of_packs", "orders_line", {"packs": 0}),
        ("order_line_of_packs", "orders_line", {"pack_size": 0}),
        ("movement_cost_of_a_receipt", "stock_movement", {"verb": "return", "cost": 1}),
        ("movement_cost_of_a_receipt", "stock_movement", {"verb": "take", "quantity": -1, "cost": 0}),
        ("cost", "stock_movement", {"cost": -1}),
        ("effective_on", "stock_movement", {"effective_on": None}),
    ],
)
def test_what_is_not_written(made: Ordered, name: str, table: str, changes: dict[str, Any]) -> None:
    with refused(name):
        again(table, **changes)


def test_a_supplier_has_one_draft_and_many_that_were_sent(
    made: Ordered, stage: tuple[House, dict[str, Api]]
) -> None:
    close_order(by=stage[0].people["storekeeper"], order=made.sent, reason="sold out")

    assert a_row("orders_order")["state"] == "draft"
    assert made.supplier.orders.count() == 2
