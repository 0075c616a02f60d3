"""What is seen of a clock."""

from rest_framework import serializers

from shop.api.shapes import Shape, uid_of
from shop.clocks.models import Clock


class ClocksIn(Shape):
    item = serializers.UUIDField(required=False, default=None)


class ClockOut(serializers.ModelSerializer[Clock]):
    item = uid_of()

    class Meta:
        model = Clock
        fields = ["uid", "item", "key", "title", "months", "anchor", "due"]
