"""What is sent and seen of an instrument."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.instruments.models import Calibration, Instrument


def _known(help_text: str, unit: str = "") -> serializers.RegexField:
    """A plain number above zero, or nothing where it is not known."""
    return serializers.RegexField(
        r"^(?=.*[1-9])[0-9]{1,4}(\.[0-9]{1,5})?$",
        max_length=10,
        required=False,
        allow_blank=True,
        default="",
        help_text=help_text,
        style={"unit": unit},
    )


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
    resolution = _known("The smallest step it shows, in its unit; empty when it is not known.")
    full_scale = _known("The end of its scale, in its unit: what is read there supports no verdict.")
    accuracy = _known("In % of full scale, from its certificate: it widens every interval.", unit="%")

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        """An accuracy of a scale needs the scale."""
        if data["accuracy"] and not data["full_scale"]:
            raise serializers.ValidationError({"full_scale": "Say the full scale that the accuracy is of."})
        return data


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
        fields = [
            "uid",
            "code",
            "name",
            "kind",
            "unit",
            "resolution",
            "full_scale",
            "accuracy",
            "calibrated_to",
            "calibrations",
        ]
