"""Lots that may be taken, and why one may not."""

from datetime import date

from django.db.models import F, Q, QuerySet

from shop.stock.models import Lot
from shop.stock.rules import taking_refusals
from shop.workshop.reads import today
from shop.workshop.rules import Refusal


def in_life(part_number: str, day: date) -> QuerySet[Lot]:
    """Lots of a part with something on hand that are in life on a day, the first to expire first."""
    rows = Lot.objects.filter(
        Q(good_to__gte=day) | Q(good_to__isnull=True), part__number=part_number, on_hand__gt=0
    )
    return rows.order_by(F("good_to").asc(nulls_last=True), "pk")


def why_not(lot: Lot, quantity: int, wanted_part: str) -> list[Refusal]:
    """Every reason why a quantity of a lot may not be taken today where the plan asks for a part."""
    return taking_refusals(
        part=lot.part.number,
        wanted_part=wanted_part,
        lot=lot.number,
        good_to=lot.good_to,
        on=today(),
        on_hand=lot.on_hand,
        quantity=quantity,
    )
