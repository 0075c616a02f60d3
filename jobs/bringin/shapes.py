"""A row of a file as the house's own shapes read it."""

from collections.abc import Callable
from typing import Any

from rest_framework import serializers

from jobs.batches.rules import (
    What,
    day_of,
    kind_of_customer,
    kind_of_gear,
    language_of,
    months_of,
    yes_or_no,
)
from shop.api.shapes import Shape
from shop.customers.shapes import CustomerIn
from shop.workshop.rules import Kind

_MAY_BE_EMPTY: dict[str, Any] = {"required": False, "allow_blank": True, "default": ""}


class Read(serializers.CharField):
    """A text that a rule reads; what it cannot read is answered by a sentence."""

    def __init__(self, rule: Callable[[str], Any], otherwise: str, **more: Any):
        self.rule, self.otherwise = rule, otherwise
        super().__init__(**more)

    def to_internal_value(self, data: Any) -> Any:
        found = self.rule(super().to_internal_value(data))
        if found is None:
            raise serializers.ValidationError(self.otherwise)
        return found

    def run_validation(self, data: Any = serializers.empty) -> Any:
        """An empty text is read too: the rule knows what it means."""
        return (
            self.to_internal_value(data) if data == "" and self.allow_blank else super().run_validation(data)
        )


class Keyed(Shape):
    old_key = serializers.CharField(max_length=80, **_MAY_BE_EMPTY)


class CustomerRow(Keyed, CustomerIn):
    kind = Read(kind_of_customer, "Write person or organisation.", allow_blank=True, default="person")  # type: ignore[assignment]  # read from more words than the page offers
    language = Read(language_of, "Write English, German, French or Spanish.", allow_blank=True, default="")  # type: ignore[assignment]  # likewise
    reminders = Read(yes_or_no, "Write yes or no.", allow_blank=True, default=False)  # type: ignore[assignment]  # likewise
    ours = None  # type: ignore[assignment]  # takes the inherited field out: no column of a file says so


class ItemRow(Keyed):
    maker = serializers.CharField(max_length=80)
    model = serializers.CharField(max_length=80)
    revision = serializers.CharField(max_length=40, **_MAY_BE_EMPTY)
    kind = Read(kind_of_gear, f"Write one of: {', '.join(kind.label for kind in Kind)}.")
    serial = serializers.CharField(max_length=80, **_MAY_BE_EMPTY)
    owners_mark = serializers.CharField(max_length=80, **_MAY_BE_EMPTY)
    owner = serializers.CharField(max_length=254, **_MAY_BE_EMPTY)
    owner_old_key = serializers.CharField(max_length=80, **_MAY_BE_EMPTY)


class ServiceRow(Shape):
    what = serializers.CharField(max_length=80)
    day = Read(day_of, "Write the day like 2024-05-31.")
    months = Read(months_of, "Write a count of months, 1 to 600.", required=False)
    item = serializers.CharField(max_length=20, **_MAY_BE_EMPTY)
    item_old_key = serializers.CharField(max_length=80, **_MAY_BE_EMPTY)
    serial = serializers.CharField(max_length=80, **_MAY_BE_EMPTY)
    maker = serializers.CharField(max_length=80, **_MAY_BE_EMPTY)


ROWS: dict[What, type[Shape]] = {
    What.CUSTOMERS: CustomerRow,
    What.ITEMS: ItemRow,
    What.SERVICES: ServiceRow,
}
