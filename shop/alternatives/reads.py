"""Which alternatives stand."""

from typing import Any

from django.db.models import QuerySet

from shop.alternatives.models import Alternative
from shop.stock.models import Lot, Part


def standing() -> QuerySet[Alternative]:
    """The alternatives that were not ended, with both parts."""
    return Alternative.objects.filter(ended_at=None).select_related("part", "other")


def approved_for(number: str) -> list[Alternative]:
    """What may go where a plan asks for a part, the one that supersedes it first."""
    return list(standing().filter(part__number=number).order_by("-supersedes", "pk")) if number else []


def approval_of(lot: Lot, number: str) -> Alternative | None:
    """As what a lot's part may go where a plan asks for a part; None where it is that part, or not approved."""
    return next((row for row in approved_for(number) if row.other_id == lot.part_id), None)


def places_of(number: str) -> set[str]:
    """The numbers of the parts in whose place a part may go."""
    return set(standing().filter(other__number=number).values_list("part__number", flat=True))


def part_panel(part: Part) -> tuple[str, dict[str, Any]]:
    """What may take a part's place, and whose place it may take, on its page."""
    rows = standing().filter(part=part)
    return "alternatives/part_panel.html", {
        "part": part,
        "rows": rows,
        "place_of": standing().filter(other=part),
    }
