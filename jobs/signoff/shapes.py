"""What is sent and seen of a sign-off."""

import json
from typing import Any

from rest_framework import serializers

from jobs.flow.rules import Outcome
from jobs.signoff.models import SignOff
from shop.api.shapes import Shape, UploadField, uid_of
from shop.signing.rules import MOST_BYTES
from shop.staff.shapes import SECRET, somebody, their_secret


class SignOffIn(Shape):
    outcome = serializers.ChoiceField(choices=[(o.value, o.value) for o in Outcome])
    words = serializers.CharField(
        max_length=2000,
        required=False,
        allow_blank=True,
        default="",
        label="What was found",
        style={"kind": "textarea"},
        help_text="Needed for any outcome other than serviced.",
    )
    secret = serializers.CharField(
        max_length=128, trim_whitespace=False, label="Your signing secret", style=SECRET
    )
    second = somebody("Second person")
    second_secret = their_secret("The second person's signing secret")
    single_handed = serializers.CharField(
        max_length=300,
        required=False,
        allow_blank=True,
        default="",
        label="Single-handed, because",
        help_text="Only where nobody else here may sign; it stands on the record.",
    )


class SignOffOut(serializers.ModelSerializer[SignOff]):
    job = uid_of(source="round.job")
    signer = serializers.CharField(source="signer.name")
    second = serializers.CharField(source="second.name", default="")
    digest = serializers.CharField(source="closed.digest")
    record = serializers.SerializerMethodField()

    class Meta:
        model = SignOff
        fields = [
            "uid",
            "job",
            "outcome",
            "words",
            "signer",
            "second",
            "single_handed",
            "at",
            "digest",
            "record",
        ]

    def get_record(self, row: SignOff) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(row.closed.record)
        return found


class SignatureOut(serializers.Serializer[Any]):
    algorithm = serializers.CharField()
    canonical = serializers.CharField()
    key = serializers.CharField()
    public = serializers.CharField()
    value = serializers.CharField()


class SignedRecordOut(serializers.Serializer[Any]):
    record = serializers.DictField()
    signature = SignatureOut()


class CodeIn(Shape):
    code = serializers.CharField(
        max_length=300,
        label="Code on the printed record",
        help_text="What the scanned code says, or the SHA-256 printed beside it: 64 letters and digits.",
    )


class CheckIn(Shape):
    file = UploadField(
        max_length=200,
        label="Signed record",
        help_text="The file that goes with the gear; its name ends in .json.",
        style={"attrs": {"accept": ".json,application/json"}},
    )

    def validate_file(self, file: Any) -> bytes:
        """Its bytes; what is longer than any record is not read."""
        if file.size > MOST_BYTES:
            raise serializers.ValidationError("No record is that long.")
        return bytes(file.read())
