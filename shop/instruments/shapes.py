"""What is sent and seen of an instrument."""

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.instruments.models import Calibration, Instrument


class InstrumentIn(Shape):
    code = serializers.CharField(max_length=20, help_text="What stands on its label.")
    name = serializers.CharField(max_length=120)
    kind = serializers.ChoiceField(
        choices=[
            ("pressure logger", "pressure logger"),
            ("low-pressure gauge", "low-pressure gauge"),
            ("torque wrench", "torque wrench"),
            ("master gauge", "master gauge"),
            ("expansion device", "expansion device"),
        ]
    )
    unit = serializers.ChoiceField(choices=["bar", "mbar", "N_m", "percent", "ml"])
    resolution = serializers.RegexField(
        r"^(?=.*[1-9])[0-9]{1,4}(\.[0-9]{1,5})?$",
        max_length=10,
        required=False,
        allow_blank=True,
        default="",
        help_text="The smallest step it shows, in its unit; empty when it is not known.",
    )


class CalibrationIn(Shape):
    done_on = serializers.DateField()
    good_to = serializers.DateField(help_text="The last day on which it may be used.")
    certificate = serializers.CharField(max_length=80)


class CalibrationOut(serializers.ModelSerializer[Calibration]):
    class Meta:
        model = Calibration
        fields = ["done_on", "good_to", "certificate"]


class InstrumentOut(serializers.ModelSerializer[Instrument]):
    calibrations = CalibrationOut(many=True)
    calibrated_to = serializers.DateField(allow_null=True)

    class Meta:
        model = Instrument
        fields = ["uid", "code", "name", "kind", "unit", "resolution", "calibrated_to", "calibrations"]
