"""What is sent and seen of a bench test."""

from typing import Any

from rest_framework import serializers

from jobs.bench.methods.asked import MOST_CHARACTERS
from jobs.bench.methods.judging import Given
from jobs.bench.methods.logs import MAX_BYTES
from jobs.bench.methods.units import symbol
from jobs.bench.models import Attempt
from jobs.bench.reads import Source
from jobs.bench.rules import FINDINGS
from jobs.flow.shapes import WorkIn
from shop.api.shapes import RowField, Shape, UploadField, uid_of
from shop.gear.models import Item
from shop.instruments.reads import instruments

READ_IN = ("bar", "mbar", "kPa", "psi", "inH2O", "cmH2O", "N_m", "percent")


def why_again() -> serializers.CharField:
    """A field for the reason of an attempt that takes the place of one that counts."""
    return serializers.CharField(
        max_length=200, required=False, allow_blank=True, default="", label="Why it is done again",
        help_text="An earlier verdict counts so far. It stays in the record, and this beside it. No names of people.",
    )  # fmt: skip


class MeasuredIn(Shape):
    """What a measurement begins with, typed in, sent as a file or logged live."""

    phase = serializers.ChoiceField(choices=["as received", "final"], initial="final")
    instrument = RowField(
        queryset=instruments(),
        required=False,
        allow_null=True,
        default=None,
    )
    partner = RowField(
        queryset=Item.objects.select_related("model"),
        required=False,
        allow_null=True,
        default=None,
        label="Tested together with",
    )
    why_again = why_again()


class TestIn(MeasuredIn, WorkIn):
    finding = serializers.ChoiceField(
        choices=FINDINGS, required=False, allow_blank=True, default="", style={"kind": "radio"}
    )
    station = serializers.CharField(
        max_length=120, required=False, allow_blank=True, default="", label="Outside station",
        help_text="Only when the verdict rests on its certificate.",
    )  # fmt: skip
    certificate = serializers.CharField(
        max_length=60, required=False, allow_blank=True, default="", label="Its certificate's number"
    )
    reading = serializers.CharField(max_length=60, required=False, allow_blank=True, default="")
    unit = serializers.ChoiceField(
        choices=[(name, symbol(name)) for name in READ_IN], required=False, allow_blank=True, default=""
    )
    figures = serializers.DictField(
        child=serializers.CharField(max_length=MOST_CHARACTERS, allow_blank=True, trim_whitespace=False),
        required=False,
        default=dict,
        help_text="What the method asks for, by key: each figure as typed, with its unit where that is another.",
    )
    trace = UploadField(
        required=False,
        allow_null=True,
        default=None,
        help_text="The file that the logger wrote: CSV, JSON or float32. Its columns are named with their units.",
    )

    def validate_trace(self, file: Any) -> bytes:
        """The file's bytes, read only when they are not too many; what they say is for the method to judge."""
        if file is None:
            return b""
        if file.size > MAX_BYTES:
            raise serializers.ValidationError(f"The file is larger than {MAX_BYTES // 1_000_000} MB.")
        content: bytes = file.read()
        return content


def measured(data: dict[str, Any]) -> dict[str, Any]:
    """What a checked `TestIn` tells, as the action takes it."""
    figures = {key: text for key, text in data["figures"].items() if text.strip()}
    given = Given(data["reading"], data["unit"], data["trace"] or b"", data["finding"], figures)
    source = Source(data["instrument"], data["station"], data["certificate"])
    rest = {name: data[name] for name in ("phase", "partner", "why_again", "done_by", "done_at")}
    return rest | {"given": given, "source": source}


class AttemptOut(serializers.ModelSerializer[Attempt]):
    instrument = uid_of(allow_null=True)

    class Meta:
        model = Attempt
        fields = [
            "uid",
            "key",
            "phase",
            "instrument",
            "calibrated_to",
            "station",
            "certificate",
            "beside",
            "reading",
            "unit",
            "figures",
            "verdict",
            "result",
            "why_again",
            "done_at",
        ]
