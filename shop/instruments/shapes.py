"""What is sent and seen of an instrument."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import RowField, Shape, UploadField, uid_of
from shop.files.models import Document
from shop.files.rules import PDF, pdf_fault
from shop.instruments.models import Calibration, Check, Instrument
from shop.instruments.rules import TOLD, Found, Of, Tester
from shop.staff.models import Person
from shop.workshop.rules import pairs


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
            ("air analyser", "air analyser"),
        ]
    )
    unit = serializers.ChoiceField(choices=["bar", "mbar", "N_m", "percent", "ml"])
    resolution = _known("The smallest step it shows, in its unit; empty when it is not known.")
    full_scale = _known("The end of its scale, in its unit: what is read there supports no verdict.")
    accuracy = _known("From its certificate: it widens every interval.", unit="%")
    accuracy_of = serializers.ChoiceField(
        choices=[(Of.SCALE.value, "of full scale"), (Of.READING.value, "of the reading")],
        required=False,
        default=Of.SCALE.value,
        initial=Of.SCALE.value,
        label="The accuracy is",
        help_text="Of the reading counts where one reading is typed; elsewhere it is taken of full scale, which is more.",
    )

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        """An accuracy needs the scale: no reading is above it."""
        if data["accuracy"] and not data["full_scale"]:
            raise serializers.ValidationError({"full_scale": "Say the full scale that the accuracy is of."})
        return data


class CalibrationIn(Shape):
    done_on = serializers.DateField()
    good_to = serializers.DateField(help_text="The last day on which it may be used.")
    certificate = serializers.CharField(max_length=80)
    found = serializers.ChoiceField(
        choices=[
            (Found.NOT_SAID.value, "the certificate does not say"),
            (Found.GOOD.value, "found good"),
            (Found.BAD.value, "found bad"),
        ],
        required=False,
        default=Found.NOT_SAID.value,
        initial=Found.NOT_SAID.value,
        label="As it came in, before anything was adjusted",
        help_text="Found bad puts in doubt every verdict since it was last looked at, and open jobs test again.",
        style={"kind": "radio"},
    )


class CheckIn(Shape):
    done_on = serializers.DateField()
    against = serializers.CharField(
        max_length=120, help_text="The reference and the point that was compared, such as MG-1 at 9.5 bar."
    )
    deviation = serializers.RegexField(
        r"^[+-]?[0-9]{1,4}(\.[0-9]{1,5})?$",
        max_length=12,
        help_text="By how much it reads too high, in its unit; with a minus when it reads too low.",
    )
    found = serializers.ChoiceField(
        choices=pairs(TOLD),
        label="It was found",
        help_text="Bad puts in doubt every verdict since it was last looked at; it is not used until it is calibrated.",
        style={"kind": "radio"},
    )
    done_by = RowField(
        queryset=Person.objects.all(),
        required=False,
        allow_null=True,
        default=None,
        help_text="When somebody else did it.",
    )


class CylindersIn(Shape):
    tested_by = serializers.ChoiceField(
        choices=pairs(Tester),
        label="Cylinders are pressure-tested by",
        help_text="Ourselves only where the law of the place lets this workshop test; else certificates are recorded.",
        style={"kind": "radio"},
    )


class CylindersOut(serializers.Serializer[Any]):
    tested_by = serializers.ChoiceField(choices=pairs(Tester))


class DocumentIn(Shape):
    document = UploadField(
        label="The certificate",
        help_text="A PDF of at most 10 MB. It is kept as it is and only given back as a file.",
        style={"attrs": {"accept": PDF}},
    )

    def validate_document(self, file: Any) -> bytes:
        """The bytes as they came."""
        content: bytes = file.read()
        if fault := pdf_fault(content):
            raise serializers.ValidationError(fault)
        return content


class DocumentOut(serializers.ModelSerializer[Document]):
    size_bytes = serializers.IntegerField(source="file.size_bytes")
    sha256 = serializers.CharField(source="file.sha256")

    class Meta:
        model = Document
        fields = ["uid", "subject", "at", "by", "size_bytes", "sha256"]


class CalibrationOut(serializers.ModelSerializer[Calibration]):
    class Meta:
        model = Calibration
        fields = ["uid", "done_on", "good_to", "certificate", "found"]


class CheckOut(serializers.ModelSerializer[Check]):
    done_by = uid_of()

    class Meta:
        model = Check
        fields = ["uid", "done_on", "against", "deviation", "found", "done_by"]


class InstrumentOut(serializers.ModelSerializer[Instrument]):
    calibrations = CalibrationOut(many=True)
    checks = CheckOut(many=True)
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
            "accuracy_of",
            "calibrated_to",
            "calibrations",
            "checks",
        ]
