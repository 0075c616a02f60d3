"""What is sent and seen of a step."""

from rest_framework import serializers

from jobs.flow.shapes import WorkIn
from jobs.worksheet.models import StepDone
from shop.api.shapes import RowField
from shop.instruments.reads import instruments


class StepIn(WorkIn):
    counted = serializers.IntegerField(
        min_value=0, max_value=999, required=False, allow_null=True, default=None
    )
    torque_n_m = serializers.RegexField(
        r"^[0-9]{1,3}(\.[0-9]{1,2})?$",
        required=False,
        allow_blank=True,
        default="",
        label="Torque",
        style={"unit": "N·m"},
        error_messages={"invalid": "Write a plain number with a point, such as 28 or 2.5."},
    )
    omitted = serializers.CharField(
        max_length=300, required=False, allow_blank=True, default="", label="Omitted because",
        help_text="Only when the step was not done.",
    )  # fmt: skip
    noted = serializers.CharField(
        max_length=200, required=False, allow_blank=True, default="", label="Noted",
        help_text="What was read or counted besides, such as turns. No names of people.",
    )  # fmt: skip
    wrench = RowField(
        queryset=instruments(),
        required=False,
        allow_null=True,
        default=None,
    )


class StepOut(serializers.ModelSerializer[StepDone]):
    done_by = serializers.CharField(source="done_by.name")
    recorded_by = serializers.CharField(source="recorded_by.name")

    class Meta:
        model = StepDone
        fields = [
            "key", "counted", "torque_n_m", "omitted", "noted", "done_at", "done_by", "recorded_at", "recorded_by",
        ]  # fmt: skip
