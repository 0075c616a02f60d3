"""What is sent and seen of bookings and of the days that may be booked."""

from typing import Any

from rest_framework import serializers

from jobs.bookings.models import Booking, DropOffDays
from shop.api.shapes import RowField, Shape, uid_of
from shop.gear.models import Item

NOTE: dict[str, Any] = {"max_length": 300, "required": False, "allow_blank": True, "default": ""}


ITEMS: Any = RowField(
    queryset=Item.objects.select_related("merged_into"),
    many=True,
    required=False,
    default=(),
)


class DayIn(Shape):
    day = serializers.DateField(label="Day")


class BookIn(DayIn):
    items = ITEMS
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
    horizon = serializers.IntegerField(
        min_value=1, max_value=365, label="As far ahead as", style={"unit": "days"}
    )


class DaysOut(serializers.ModelSerializer[DropOffDays]):
    class Meta:
        model = DropOffDays
        fields = ["a_day", "horizon", "version"]
