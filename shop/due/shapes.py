"""What is asked of the list of what is due."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.due.rules import Whose, Within
from shop.workshop.rules import Kind, pairs


class DueIn(Shape):
    within = serializers.ChoiceField(
        choices=pairs(Within), default=Within.QUARTER.value, initial=Within.QUARTER.value, label="Due within"
    )
    kind = serializers.ChoiceField(
        choices=[(k.value, k.label) for k in Kind],
        required=False,
        allow_blank=True,
        default="",
        label="Kind of gear",
    )
    clock = serializers.CharField(
        max_length=40, required=False, allow_blank=True, default="", label="What must be done"
    )
    whose = serializers.ChoiceField(
        choices=pairs(Whose), required=False, allow_blank=True, default="", label="Whose gear"
    )


class CalendarOut(serializers.Serializer[Any]):
    address = serializers.CharField(
        source="*", help_text="A secret: whoever has it reads the calendar. Empty while there is none."
    )
