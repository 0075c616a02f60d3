"""What is sent and seen at the work sheet: steps, parts, tests."""

from typing import Any

from rest_framework import serializers

from jobs.bench.models import Attempt
from jobs.tray.models import TrayPart
from jobs.tray.rules import Ending
from jobs.worksheet.models import StepDone
from shop.api.shapes import Shape, uid_of
from shop.gear.shapes import PhotographIn
from shop.instruments.models import Instrument
from shop.stock.models import Lot


class StepIn(Shape):
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
    )
    wrench = serializers.SlugRelatedField(
        slug_field="uid",
        queryset=Instrument.objects.prefetch_related("calibrations"),
        required=False,
        allow_null=True,
        default=None,
    )


class StepOut(serializers.ModelSerializer[StepDone]):
    done_by = serializers.CharField(source="done_by.name")

    class Meta:
        model = StepDone
        fields = ["key", "counted", "torque_n_m", "done_at", "done_by"]


class JobPhotographIn(PhotographIn):
    step = serializers.CharField(
        max_length=90, required=False, allow_blank=True, default="", help_text="Only if it shows one step."
    )


class EndingIn(Shape):
    ending = serializers.ChoiceField(choices=[(e.value, e.value) for e in Ending])
    lot = serializers.SlugRelatedField(
        slug_field="uid", queryset=Lot.objects.all(), required=False, allow_null=True, default=None
    )


class TrayPartOut(serializers.ModelSerializer[TrayPart]):
    lot = serializers.CharField(source="movement.lot.number", default="")

    class Meta:
        model = TrayPart
        fields = ["key", "count", "ending", "lot", "at"]


class TestIn(Shape):
    phase = serializers.ChoiceField(choices=["as received", "final"], initial="final")
    instrument = serializers.SlugRelatedField(
        slug_field="uid", queryset=Instrument.objects.prefetch_related("calibrations")
    )
    reading = serializers.CharField(max_length=60, required=False, allow_blank=True, default="")
    unit = serializers.ChoiceField(
        choices=["bar", "mbar", "kPa", "psi", "N_m"], required=False, allow_blank=True, default=""
    )
    trace = serializers.FileField(
        required=False,
        allow_null=True,
        default=None,
        help_text="The CSV that the logger wrote, with the heading t_s,p_bar.",
    )

    def validate_trace(self, file: object) -> str:
        """The file's text; bytes that are no UTF-8 are refused."""
        content = file.read() if hasattr(file, "read") else b""
        try:
            return content.decode("utf-8-sig").replace("\r\n", "\n")
        except UnicodeDecodeError:
            raise serializers.ValidationError("The file is not text in UTF-8.") from None


class AttemptOut(serializers.ModelSerializer[Attempt]):
    instrument = uid_of()

    class Meta:
        model = Attempt
        fields = [
            "uid",
            "key",
            "phase",
            "instrument",
            "calibrated_to",
            "reading",
            "unit",
            "verdict",
            "result",
            "done_at",
        ]


class SheetStep(serializers.Serializer[Any]):
    n = serializers.IntegerField()
    key = serializers.CharField()
    leg = serializers.CharField()
    title = serializers.CharField()
    loose_parts = serializers.IntegerField(help_text="How many parts it frees.")
    torque_n_m = serializers.CharField(allow_blank=True)
    done = StepOut(allow_null=True)


class SheetPart(serializers.Serializer[Any]):
    key = serializers.CharField()
    name = serializers.CharField()
    count = serializers.IntegerField()
    renew = serializers.CharField(allow_blank=True, help_text="Number of the stock part that renews it.")
    ended = TrayPartOut(allow_null=True)


class SheetTest(serializers.Serializer[Any]):
    key = serializers.CharField()
    title = serializers.CharField()
    method = serializers.CharField()
    needs = serializers.CharField()
    attempts = AttemptOut(many=True)
    open = serializers.BooleanField(help_text="Whether a counting final verdict within is still missing.")


class SheetOut(serializers.Serializer[Any]):
    """A job's work sheet as it stands: what is done, what is open."""

    steps = SheetStep(many=True)
    parts = SheetPart(many=True)
    tests = SheetTest(many=True)
