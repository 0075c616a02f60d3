"""Two people with one order at the same instant."""

from typing import Any

from shop.journal.reads import faults
from shop.orders.models import Line, Order
from shop.post.models import Letter
from shop.stock.models import Movement
from tests.conftest import Api, House
from tests.orders.made import ordered
from tests.threads import real_database as real_database
from tests.threads import statuses, together


def test_an_order_is_sent_once_and_its_last_pieces_come_once(real_database: None, house: House) -> None:
    made, keeper = ordered(house), house.people["storekeeper"]
    draft = Order.objects.select_related("supplier").get(pk=made.draft.pk)
    version, uid = draft.version, draft.uid

    def send(i: int) -> Any:
        if i == 3:  # somebody changes the draft meanwhile: it goes out before or is stale after
            wish = {"offer": str(made.offer.uid), "packs": 9}
            return Api(keeper).post(f"suppliers/{made.supplier.uid}/draft", {"lines": [wish]})
        return Api(keeper).post(f"orders/{uid}/send", {"how": "e-mail"}, version)

    *sent, changed = together(4, send)

    assert changed.status_code == 201
    assert statuses(sent) in ({200: 1, 409: 2}, {412: 3})
    went = statuses(sent).get(200, 0)
    assert Letter.objects.filter(purpose="order").count() == 1 + went
    assert [line.packs for line in Line.objects.filter(order__uid=uid)] == [2] * went

    def receive(i: int) -> Any:
        data = {"number": f"TH-302-{i % 2}", "cured": "2Q26", "quantity": 10}
        return Api(keeper).post(f"order-lines/{made.line.uid}/receipts", data)

    assert statuses(together(4, receive)) == {201: 1, 409: 3}
    assert Movement.objects.filter(receipt__line=made.line).count() == 1
    assert Order.objects.get(pk=made.sent.pk).state == "closed"
    assert list(faults()) == []
