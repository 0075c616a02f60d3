"""What is sent and seen of drop-offs and jobs."""

from rest_framework import serializers

from jobs.flow.models import DropOff, Job, Line
from shop.api.shapes import Shape


class LineOut(serializers.ModelSerializer[Line]):
    item = serializers.SlugRelatedField(slug_field="uid", read_only=True)
    job = serializers.SlugRelatedField(slug_field="uid", read_only=True)

    class Meta:
        model = Line
        fields = ["uid", "tag", "words", "condition", "contents", "item", "job"]


class DropOffOut(serializers.ModelSerializer[DropOff]):
    number = serializers.CharField(source="label")
    customer = serializers.SlugRelatedField(slug_field="uid", read_only=True)
    lines = LineOut(many=True)

    class Meta:
        model = DropOff
        fields = ["uid", "number", "customer", "promised_on", "at", "version", "lines"]


class JobOut(serializers.ModelSerializer[Job]):
    item = serializers.SlugRelatedField(slug_field="uid", read_only=True)
    item_number = serializers.CharField(source="item.label")
    drop_off = serializers.SlugRelatedField(slug_field="uid", read_only=True)
    plan = serializers.SlugRelatedField(slug_field="uid", read_only=True, source="plan_version")
    technician = serializers.SlugRelatedField(slug_field="uid", read_only=True)
    legs = serializers.ListField(child=serializers.CharField(), source="plan.legs")

    class Meta:
        model = Job
        fields = [
            "uid", "number", "item", "item_number", "drop_off", "plan", "technician", "promised_on", "legs", "leg",
            "version",
        ]


class MoveIn(Shape):
    to = serializers.ChoiceField(
        choices=["cleared", "stripping", "cleaning", "rebuilding", "testing"], help_text="The leg to enter."
    )
    reason = serializers.CharField(
        max_length=500, required=False, allow_blank=True, default="", help_text="Needed to go back."
    )
