"""A period of the books."""

from datetime import date
from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.workshop.reads import today


class PeriodIn(Shape):
    first = serializers.DateField(
        required=False,
        allow_null=True,
        default=None,
        label="From",
        help_text="Left open: this year's first day.",
    )
    last = serializers.DateField(
        required=False, allow_null=True, default=None, label="To", help_text="Left open: today."
    )

    def validate(self, attrs: Any) -> Any:
        last: date = attrs["last"] or today()
        first: date = attrs["first"] or last.replace(month=1, day=1)
        if first > last:
            raise serializers.ValidationError({"last": ["It ends before it begins."]})
        return {"first": first, "last": last}
