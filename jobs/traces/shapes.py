"""What is asked of a trace that is looked at."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from jobs.bench.models import Attempt
from shop.api.shapes import RowField, Shape


class LookIn(Shape):
    """A window of the horizontal axis and a second trace to lay over; all may be left out."""

    start = serializers.DecimalField(
        max_digits=10, decimal_places=3, required=False, allow_null=True, default=None, label="From"
    )
    end = serializers.DecimalField(
        max_digits=10, decimal_places=3, required=False, allow_null=True, default=None, label="To"
    )
    over = RowField(
        queryset=Attempt.objects.all(),
        required=False,
        allow_null=True,
        default=None,
        label="Lay over it",
    )

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        start, end = given["start"], given["end"]
        if start is not None and end is not None and end - start < Decimal("0.001"):
            raise serializers.ValidationError({"end": "It must come after the start."})
        return given
