"""What is sent and seen of drop-offs and jobs."""

from rest_framework import serializers

from jobs.flow.models import DropOff, Job, Line
from shop.api.shapes import Shape, uid_of


class LineOut(serializers.ModelSerializer[Line]):
    item = uid_of(allow_null=True)
    job = uid_of(allow_null=True)

    class Meta:
        model = Line
        fields = ["uid", "tag", "words", "condition", "contents", "item", "job"]


class DropOffOut(serializers.ModelSerializer[DropOff]):
    number = serializers.CharField(source="label")
    customer = uid_of()
    lines = LineOut(many=True)

    class Meta:
        model = DropOff
        fields = ["uid", "number", "customer", "promised_on", "at", "version", "lines"]


class JobOut(serializers.ModelSerializer[Job]):
    item = uid_of()
    item_number = serializers.CharField(source="item.label")
    drop_off = uid_of()
    plan = uid_of(source="plan_version")
    technician = uid_of(allow_null=True)
    legs = serializers.ListField(child=serializers.CharField(), source="plan.legs")

    class Meta:
        model = Job
        fields = [
            "uid",
            "number",
            "item",
            "item_number",
            "drop_off",
            "plan",
            "technician",
            "promised_on",
            "legs",
            "leg",
            "version",
        ]


MOVABLE = [
    (leg, leg.replace("_", " ")) for leg in ("cleared", "stripping", "cleaning", "rebuilding", "testing")
]


class MoveIn(Shape):
    to = serializers.ChoiceField(choices=MOVABLE, help_text="The leg to enter.")
    reason = serializers.CharField(
        max_length=500, required=False, allow_blank=True, default="", help_text="Needed to go back."
    )
