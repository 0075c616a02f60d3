"""What is sent and seen of a clock, of counts and of what a decision would move."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape, UploadField, uid_of
from shop.clocks.models import Clock, Tally
from shop.clocks.reads import Reckoned, stands
from shop.clocks.rules import Decision
from shop.files.reads import NotAPhotograph, Picture, re_encoded
from shop.files.rules import PDF, PHOTOGRAPH_HELP, pdf_fault
from shop.intervals.rules import Unit
from shop.workshop.rules import pairs


class ClocksIn(Shape):
    item = serializers.UUIDField(required=False, default=None)


class ClockOut(serializers.ModelSerializer[Clock]):
    item = uid_of()
    interval = uid_of(allow_null=True)
    state = serializers.SerializerMethodField()

    class Meta:
        model = Clock
        fields = [
            "uid",
            "item",
            "key",
            "title",
            "months",
            "anchor",
            "due",
            "unknown",
            "grace",
            "interval",
            "state",
        ]

    def get_state(self, clock: Clock) -> str:
        return stands(clock)


class ElsewhereIn(Shape):
    day = serializers.DateField(label="Done on", help_text="As the proof says.")
    elsewhere = serializers.CharField(
        max_length=120, label="By whom", help_text="The workshop or station that did it."
    )
    photograph = UploadField(
        required=False,
        default=None,
        label="Photograph of the proof",
        help_text=f"A JPEG, PNG or WebP of at most 10 MB. Or the PDF below. {PHOTOGRAPH_HELP}",
        style={"attrs": {"accept": "image/*", "capture": "environment"}},
    )
    document = UploadField(
        required=False,
        default=None,
        label="The proof as PDF",
        help_text="At most 10 MB. It is kept as it is and only given back as a file.",
        style={"attrs": {"accept": PDF}},
    )

    def validate_photograph(self, file: Any) -> Picture | None:
        """The picture as it will be kept; here, because no lock may be held while it is decoded."""
        try:
            return re_encoded(file.read()) if file else None
        except NotAPhotograph as fault:
            raise serializers.ValidationError(str(fault)) from None

    def validate_document(self, file: Any) -> bytes | None:
        """The bytes as they came."""
        content = file.read() if file else None
        if content is not None and (fault := pdf_fault(content)):
            raise serializers.ValidationError(fault)
        return content


class TallyIn(Shape):
    unit = serializers.ChoiceField(choices=pairs(Unit), style={"kind": "radio"}, label="What is counted")
    total = serializers.IntegerField(
        min_value=0,
        max_value=1_000_000,
        label="In all",
        help_text="By its own counter, or as the owner says; not since the last service.",
    )
    day = serializers.DateField(label="On the day")


class TallyOut(serializers.ModelSerializer[Tally]):
    item = uid_of()

    class Meta:
        model = Tally
        fields = ["item", "unit", "total", "day", "at"]


class DecisionIn(Shape):
    decision = serializers.ChoiceField(choices=pairs(Decision))


class WouldMoveIn(Shape):
    decision = serializers.ChoiceField(choices=pairs(Decision), default=Decision.FORCE.value)


class MoveOut(serializers.Serializer[Reckoned]):
    """One clock that a decision would move; `uid` is null where it would be set going."""

    uid = serializers.SerializerMethodField()
    item = serializers.CharField(source="clock.item.label")
    title = serializers.CharField(source="clock.title")
    due = serializers.DateField(source="clock.due", allow_null=True)
    would_be_due = serializers.DateField(source="due.day", allow_null=True)
    would_be_unknown = serializers.BooleanField(source="due.unknown")

    def get_uid(self, row: Reckoned) -> str | None:
        return str(row.clock.uid) if row.clock.pk else None


class MovesOut(serializers.Serializer[Any]):
    count = serializers.IntegerField()
    fresh = serializers.IntegerField(help_text="Clocks that it would set going.")
    rows = MoveOut(many=True, help_text="The first hundred.")
