"""Draft, send, receive and close orders."""

from datetime import timedelta

from shop.orders import actions
from shop.orders.reads import on_drafts, on_its_way
from shop.post.models import Letter
from shop.suppliers.actions import add_offer, add_supplier
from shop.workshop.reads import today
from tests.conftest import House


def test_it_works(house: House) -> None:
    by, part = house.people["storekeeper"], house.lots["TH-302"].part
    s = add_supplier(by=by, name="Seals", email="a@seals.example", lead_days=5)
    offer = add_offer(by=by, part=part, supplier=s, number="S-1", pack_size=10, price=1000)
    order = actions.draft_order(by=by, supplier=s, lines=[(offer, 2)])
    assert on_drafts(["TH-302"]) == {"TH-302": 20}
    order = actions.send_order(by=by, order=order, seen=order.version, how="e-mail")
    (coming,) = on_its_way(["TH-302"])["TH-302"]
    assert (coming.pieces, coming.expected) == (20, today() + timedelta(days=5))
    line = order.lines.get()
    lot = actions.receive_line(by=by, line=line, number="N-1", cured="2Q26", quantity=3)
    assert lot.movements.get().cost == 300
    actions.receive_line(by=by, line=line, number="N-1", cured="2Q26", quantity=17)
    order.refresh_from_db()
    assert order.state == "closed"
    assert b"order-1.pdf" in bytes(Letter.objects.get().body)
