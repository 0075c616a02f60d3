"""What suppliers sell, with prices in words."""

from dataclasses import dataclass
from typing import Any

from shop.suppliers.models import Offer
from shop.workshop.reads import currency
from shop.workshop.rules import priced


@dataclass(frozen=True)
class Sold:
    """An offer, and the price of a pack in words."""

    offer: Offer
    price: str


def sold(**which: Any) -> list[Sold]:
    """Offers by the number of the part and the supplier's name."""
    rows, code = Offer.objects.filter(**which).select_related("part", "supplier"), currency()
    return [Sold(row, priced(row.price, code)) for row in rows.order_by("part__number", "supplier__name")]
