"""What is asked about the store's worth: a day."""

from datetime import date

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.workshop.reads import today


class DayIn(Shape):
    on = serializers.DateField(
        required=False, allow_null=True, default=today, label="On", help_text="Left open: today."
    )

    def validate_on(self, value: date | None) -> date:
        day = today()
        if value is not None and value > day:
            raise serializers.ValidationError("Nobody knows yet what will be here on a day to come.")
        return value or day
