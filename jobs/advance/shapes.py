"""What is sent and seen at the work sheet: steps, parts, tests."""

from typing import Any

from rest_framework import serializers

from jobs.bench.actions import Given, Source
from jobs.bench.models import Attempt
from jobs.bench.rules import FINDINGS
from jobs.flow.models import Job
from jobs.tray.models import TrayPart
from jobs.tray.rules import Ending, Origin
from jobs.worksheet.models import StepDone
from shop.api.shapes import Shape, uid_of
from shop.gear.models import Item
from shop.instruments.models import Instrument
from shop.staff.models import Person
from shop.stock.models import Lot


class WorkIn(Shape):
    """Who did it and when, where that is not whoever records it now."""

    done_by = serializers.SlugRelatedField(
        slug_field="uid",
        queryset=Person.objects.prefetch_related("roles", "authorisations"),
        required=False,
        allow_null=True,
        default=None,
        help_text="When somebody else did it.",
    )
    done_at = serializers.DateTimeField(
        required=False, allow_null=True, default=None, help_text="When it was done earlier than now."
    )


LATER = ("done_by", "done_at")  # asked for when a sheet filled in by hand is typed in


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
    )
    omitted = serializers.CharField(
        max_length=300, required=False, allow_blank=True, default="", label="Omitted because",
        help_text="Only when the step was not done.",
    )  # fmt: skip
    wrench = serializers.SlugRelatedField(
        slug_field="uid",
        queryset=Instrument.objects.prefetch_related("calibrations"),
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
            "key", "counted", "torque_n_m", "omitted", "done_at", "done_by", "recorded_at", "recorded_by",
        ]  # fmt: skip


class EndingIn(WorkIn):
    ending = serializers.ChoiceField(choices=[(e.value, e.value) for e in Ending])
    lot = serializers.SlugRelatedField(
        slug_field="uid", queryset=Lot.objects.all(), required=False, allow_null=True, default=None
    )
    origin = serializers.ChoiceField(
        choices=[(o.value, o.value) for o in (Origin.CUSTOMER, Origin.PROGRAMME)],
        required=False,
        allow_blank=True,
        default="",
        label="Or it is not from our store",
    )
    words = serializers.CharField(
        max_length=300,
        required=False,
        allow_blank=True,
        default="",
        label="In words",
        help_text="Where a scrapped part went, where a lost one was searched for, which part it is that is not ours.",
    )
    second = serializers.SlugRelatedField(
        slug_field="uid",
        queryset=Person.objects.filter(is_active=True),
        required=False,
        allow_null=True,
        default=None,
        label="Searched with",
        help_text="A lost part takes a second person.",
    )
    second_secret = serializers.CharField(
        max_length=128,
        required=False,
        allow_blank=True,
        default="",
        trim_whitespace=False,
        label="Their signing secret",
        style={"kind": "password", "autocomplete": "off"},
    )


class TrayPartOut(serializers.ModelSerializer[TrayPart]):
    lot = serializers.CharField(source="movement.lot.number", default="")

    class Meta:
        model = TrayPart
        fields = ["key", "count", "ending", "origin", "words", "lot", "at"]


class TestIn(WorkIn):
    phase = serializers.ChoiceField(choices=["as received", "final"], initial="final")
    instrument = serializers.SlugRelatedField(
        slug_field="uid",
        queryset=Instrument.objects.prefetch_related("calibrations"),
        required=False,
        allow_null=True,
        default=None,
    )
    partner = serializers.SlugRelatedField(
        slug_field="uid",
        queryset=Item.objects.select_related("model"),
        required=False,
        allow_null=True,
        default=None,
        label="Tested together with",
    )
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
        choices=["bar", "mbar", "kPa", "psi", "N_m", "percent"], required=False, allow_blank=True, default=""
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


def measured(data: dict[str, Any]) -> dict[str, Any]:
    """What a checked `TestIn` tells, as the action takes it."""
    given = Given(data["reading"], data["unit"], data["trace"] or "", data["finding"])
    source = Source(data["instrument"], data["station"], data["certificate"])
    rest = {name: data[name] for name in ("phase", "partner", "done_by", "done_at")}
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
    when = serializers.CharField(allow_blank=True, help_text="The condition under which it is done.")
    choice = serializers.CharField(allow_blank=True, help_text="Of the steps with one choice, one is done.")
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
    needs = serializers.CharField(allow_blank=True)
    partner = serializers.CharField(allow_blank=True, help_text="The kind of gear it is done together with.")
    of_set = serializers.BooleanField(help_text="Whether it is done once the whole set is rebuilt.")
    attempts = AttemptOut(many=True)
    open = serializers.BooleanField(help_text="Whether a counting final verdict within is still missing.")


class SheetOut(serializers.Serializer[Any]):
    """A job's work sheet as it stands: what is done, what is open."""

    steps = SheetStep(many=True)
    parts = SheetPart(many=True)
    tests = SheetTest(many=True)


class MoveOnIn(Shape):
    jobs = serializers.SlugRelatedField(
        slug_field="uid", queryset=Job.objects.all(), many=True, allow_empty=False, label="Jobs to move on"
    )
