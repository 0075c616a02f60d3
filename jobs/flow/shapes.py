"""What is sent and seen of drop-offs and jobs."""

from datetime import datetime
from typing import Any
from uuid import UUID

from rest_framework import serializers

from jobs.flow.models import Custody, DropOff, Hold, Job, Line
from jobs.flow.rules import Contents, HoldKind, Where
from shop.api.shapes import RowField, Shape, uid_of
from shop.catalogue.models import PlanVersion
from shop.staff.models import Person
from shop.staff.shapes import somebody, their_secret
from shop.workshop.reads import zone


class LineOut(serializers.ModelSerializer[Line]):
    item = uid_of(allow_null=True)
    job = uid_of(allow_null=True)

    class Meta:
        model = Line
        fields = [
            "uid",
            "tag",
            "words",
            "condition",
            "state",
            "contents",
            "gas",
            "pressure",
            "pressure_unit",
            "taint",
            "accessories",
            "item",
            "job",
        ]


class DropOffOut(serializers.ModelSerializer[DropOff]):
    number = serializers.CharField(source="label")
    customer = uid_of()
    bringer = uid_of(allow_null=True)
    payer = uid_of(allow_null=True)
    collector = uid_of(allow_null=True)
    lines = LineOut(many=True)

    class Meta:
        model = DropOff
        fields = [
            "uid",
            "number",
            "customer",
            "bringer",
            "payer",
            "collector",
            "wanted_on",
            "promised_on",
            "at",
            "version",
            "lines",
        ]


class HoldOut(serializers.ModelSerializer[Hold]):
    job = uid_of(allow_null=True)
    item = uid_of(allow_null=True)

    class Meta:
        model = Hold
        fields = ["uid", "job", "item", "kind", "why", "at", "lifted_at", "lifted_why"]


class JobOut(serializers.ModelSerializer[Job]):
    item = uid_of()
    item_number = serializers.CharField(source="item.label")
    drop_off = uid_of()
    plans = serializers.SerializerMethodField()
    follows = uid_of(allow_null=True)
    technician = uid_of(allow_null=True)
    legs = serializers.ListField(child=serializers.CharField())
    holds = HoldOut(many=True, source="open_holds")

    class Meta:
        model = Job
        fields = [
            "uid",
            "number",
            "item",
            "item_number",
            "drop_off",
            "plans",
            "follows",
            "technician",
            "promised_on",
            "promised_why",
            "legs",
            "leg",
            "holds",
            "version",
        ]

    def get_plans(self, row: Job) -> list[UUID]:
        return [plan.uid for plan in row.plans]


MOVABLE = [
    (leg, leg.replace("_", " ")) for leg in ("cleared", "stripping", "cleaning", "rebuilding", "testing")
]


class MoveIn(Shape):
    to = serializers.ChoiceField(choices=MOVABLE, help_text="The leg to enter.")
    reason = serializers.CharField(
        max_length=500, required=False, allow_blank=True, default="", help_text="Needed to go back."
    )


class PressureField(serializers.RegexField):
    """A pressure as it was read, as text; a comma is taken for the point that it stands for."""

    def to_internal_value(self, data: Any) -> str:
        return str(super().to_internal_value(data.replace(",", ".") if isinstance(data, str) else data))


def pressure() -> PressureField:
    """A pressure that may be left empty."""
    return PressureField(
        r"^[0-9]{1,4}(\.[0-9])?$",
        error_messages={"invalid": "A number such as 40 or 12.5."},
        required=False,
        allow_blank=True,
        default="",
        label="Pressure as read",
        style={"inputmode": "decimal"},
    )


PRESSURE_UNITS = ["bar", "psi"]


class ContentsIn(Shape):
    contents = serializers.ChoiceField(
        choices=[Contents.NO_GAS.value, Contents.UNDER_PRESSURE.value], label="Gas inside"
    )
    gas = serializers.CharField(
        max_length=40,
        required=False,
        allow_blank=True,
        default="",
        help_text="As its label says: air, EAN32.",
    )
    pressure = pressure()
    pressure_unit = serializers.ChoiceField(
        choices=PRESSURE_UNITS, required=False, allow_blank=True, default="", label="In"
    )

    def validate(self, attrs: Any) -> Any:
        if bool(attrs["pressure"]) != bool(attrs["pressure_unit"]):
            raise serializers.ValidationError({"pressure_unit": ["A pressure needs its unit."]})
        return attrs


class HoldIn(Shape):
    kind = serializers.ChoiceField(
        choices=[(kind.value, kind.value) for kind in HoldKind if kind not in ("doubt", "notice")],
        label="What it waits for",
    )
    why = serializers.CharField(max_length=300, label="In words")


class LiftIn(Shape):
    why = serializers.CharField(max_length=300, label="Why it may go on")
    second = somebody("Second person", "Evidence is released by two people.")
    second_secret = their_secret()


class CustodyIn(Shape):
    where = serializers.ChoiceField(choices=[(w.value, w.value) for w in Where], label="It is")
    holder = serializers.CharField(
        max_length=160,
        label="Place or station",
        help_text="A shelf, or the outside station; no person's name.",
    )
    seal = serializers.CharField(
        max_length=60, required=False, allow_blank=True, default="", label="Seal's number"
    )
    why = serializers.CharField(max_length=300, required=False, allow_blank=True, default="", label="Why")
    corrects = serializers.BooleanField(
        default=False, label="The record is wrong: this corrects where it really is"
    )


class CustodyOut(serializers.ModelSerializer[Custody]):
    line = uid_of()
    corrects = uid_of(allow_null=True)

    class Meta:
        model = Custody
        fields = ["uid", "line", "where", "holder", "seal", "why", "corrects", "at"]


class MorePlanIn(Shape):
    plan = RowField(queryset=PlanVersion.objects.all(), label="Service plan")


class JobsOut(serializers.Serializer[Any]):
    """The jobs that were moved or handed on."""

    jobs = JobOut(many=True)


class LocalTimeField(serializers.DateTimeField):
    """An instant; one that is sent without an offset is a time on the workshop's own clock."""

    def enforce_timezone(self, value: datetime) -> datetime:
        self.timezone = zone()
        return super().enforce_timezone(value)


class WorkIn(Shape):
    """Who did it and when, where that is not whoever records it now."""

    done_by = RowField(
        queryset=Person.objects.prefetch_related("roles"),
        required=False,
        allow_null=True,
        default=None,
        help_text="When somebody else did it.",
    )
    done_at = LocalTimeField(
        required=False, allow_null=True, default=None, help_text="When it was done earlier than now.",
        style={"kind": "datetime-local"},
    )  # fmt: skip


LATER = ("done_by", "done_at")  # asked for when a sheet filled in by hand is typed in
