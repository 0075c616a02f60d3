"""What is seen of a clock."""

from rest_framework import serializers

from shop.clocks.models import Clock


class ClockOut(serializers.ModelSerializer[Clock]):
    item = serializers.SlugRelatedField(slug_field="uid", read_only=True)

    class Meta:
        model = Clock
        fields = ["uid", "item", "key", "title", "months", "anchor", "due"]
