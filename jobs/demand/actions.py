"""Put what is proposed on a supplier's draft order."""

from jobs.demand.reads import outlook
from shop.orders.actions import draft_order
from shop.orders.models import Order
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.suppliers.models import Supplier
from shop.workshop.rules import Refusal, refuse


def draft_proposed(*, by: Person, supplier: Supplier, level: int) -> Order:
    """Put every part that is proposed now of a supplier on their draft; sending it is for a person.

    The number of packs is set, not added, so that to ask twice orders once.
    """
    require(by, Can.KEEP_STOCK)
    lines = outlook(level).proposed(supplier)
    if not lines:
        refuse([Refusal("nothing-proposed", f"Nothing of {supplier} is proposed at {level} %.", "level")])
    return draft_order(by=by, supplier=supplier, lines=lines)
