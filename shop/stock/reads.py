"""Lots that may be taken."""

from datetime import date

from django.db.models import F, Q, QuerySet

from shop.stock.models import Lot


def in_life(part_number: str, day: date) -> QuerySet[Lot]:
    """Lots of a part with something on hand that are in life on a day, the first to expire first."""
    rows = Lot.objects.filter(
        Q(good_to__gte=day) | Q(good_to__isnull=True), part__number=part_number, on_hand__gt=0
    )
    return rows.order_by(F("good_to").asc(nulls_last=True), "pk")
