"""What is sent and seen of bookings and of the days that may be booked."""

import re
from datetime import date
from typing import Any

from rest_framework import serializers

from jobs.bookings.models import Booking, DropOffDays
from jobs.bookings.rules import WEEKDAYS
from shop.api.shapes import Shape, uid_of
from shop.gear.models import Item

NOTE: dict[str, Any] = {"max_length": 300, "required": False, "allow_blank": True, "default": ""}


class DayIn(Shape):
    day = serializers.DateField(label="Day")


class BookIn(DayIn):
    items = serializers.SlugRelatedField(  # type: ignore[var-annotated]  # the stubs do not know `many`
        slug_field="uid", queryset=Item.objects.select_related("merged_into"), many=True, required=False, default=()
    )  # fmt: skip
    note = serializers.CharField(label="What for", **NOTE)


class BookPageIn(DayIn):
    """The page's way: what was chosen of a list of gear."""

    items = serializers.ListField(
        child=serializers.UUIDField(),
        required=False,
        default=list,
        label="Which gear",
        style={"kind": "multi"},
    )
    note = serializers.CharField(label="Anything we should know", **NOTE)


class MoveByLinkIn(DayIn):
    """Under a link a booking is named by its day: nobody has two of one day."""

    booked = serializers.DateField(label="Booked for")


class CancelByLinkIn(Shape):
    booked = serializers.DateField(label="Booked for")


class BookingOut(serializers.ModelSerializer[Booking]):
    customer = uid_of(source="customer.kept")
    items = uid_of(many=True)
    drop_off = uid_of(allow_null=True)
    became = serializers.CharField()

    class Meta:
        model = Booking
        fields = ["uid", "customer", "day", "items", "note", "became", "drop_off", "made_at", "version"]


class DaysIn(Shape):
    a_day = serializers.IntegerField(
        min_value=0, max_value=200, label="Drop-offs a day", help_text="0 offers no day to anybody.",
        style={"unit": "drop-offs"},
    )  # fmt: skip
    weekdays = serializers.MultipleChoiceField(choices=WEEKDAYS, label="On", required=False, default=set)
    horizon = serializers.IntegerField(
        min_value=1, max_value=365, label="As far ahead as", style={"unit": "days"}
    )
    closed = serializers.CharField(
        max_length=4000, required=False, allow_blank=True, default="", label="Closed days",
        help_text="One a line, like 2026-12-24.", style={"kind": "textarea"},
    )  # fmt: skip

    def validate_weekdays(self, value: Any) -> list[int]:
        """As numbers, whichever way they came."""
        return sorted(int(each) for each in value)

    def validate_closed(self, value: str) -> list[date]:
        """The days that are named."""
        found, wrong = list[date](), list[str]()
        for word in re.split(r"[\s,;]+", value.strip()) if value.strip() else []:
            try:
                found.append(date.fromisoformat(word))
            except ValueError:
                wrong.append(f"{word[:20]!r} is no day like 2026-12-24.")
        if wrong:
            raise serializers.ValidationError(wrong[:10])
        return found


class DaysOut(serializers.ModelSerializer[DropOffDays]):
    weekdays = serializers.ListField(child=serializers.IntegerField())
    closed = serializers.ListField(child=serializers.DateField())

    class Meta:
        model = DropOffDays
        fields = ["a_day", "weekdays", "closed", "horizon", "version"]
