"""A supplier of yoke rings with an order that was sent and one that is a draft."""

from dataclasses import dataclass

from shop.orders.actions import draft_order, send_order
from shop.orders.models import DraftLine, Line, Order
from shop.suppliers.actions import add_offer, add_supplier
from shop.suppliers.models import Offer, Supplier
from tests.conftest import House


@dataclass
class Ordered:
    """What is known of it."""

    supplier: Supplier
    offer: Offer
    sent: Order
    draft: Order

    @property
    def line(self) -> Line:
        return self.sent.lines.get()

    @property
    def wish(self) -> DraftLine:
        return self.draft.draft_lines.get()


def ordered(house: House) -> Ordered:
    """One pack of ten for 12.50 sent for by e-mail, two packs on the draft; they come within a week."""
    by, part = house.people["storekeeper"], house.lots["TH-302"].part
    supplier = add_supplier(by=by, name="Vantry Seals", email="orders@vantry.example", lead_days=7)
    offer = add_offer(by=by, part=part, supplier=supplier, number="V-302", pack_size=10, price=1250)
    first = draft_order(by=by, supplier=supplier, lines=[(offer, 1)])
    sent = send_order(by=by, order=first, seen=first.version, how="e-mail")
    draft = draft_order(by=by, supplier=supplier, lines=[(offer, 2)])
    return Ordered(supplier, offer, sent, draft)
