"""What is sent and seen of a loose part."""

from typing import Any

from rest_framework import serializers

from jobs.flow.shapes import WorkIn
from jobs.tray.models import TrayPart
from jobs.tray.rules import Ending, Origin
from shop.api.shapes import RowField, uid_of
from shop.staff.shapes import somebody, their_secret
from shop.stock.models import Lot
from shop.stock.shapes import LotOut, some_bin
from shop.workshop.rules import Unit


class EndingIn(WorkIn):
    ending = serializers.ChoiceField(choices=[(e.value, e.value) for e in Ending])
    lot = RowField(queryset=Lot.objects.all(), required=False, allow_null=True, default=None)
    bin = some_bin("From which bin", "Left open: the one with most of this lot.")
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
    second = somebody("Second person", "A lost part takes one, and so does an override.")
    second_secret = their_secret()
    override = serializers.CharField(
        max_length=300,
        required=False,
        allow_blank=True,
        default="",
        label="Override: why it is taken all the same",
        help_text="By the lead with a second person; it is printed on the record. No names of people.",
    )
    as_alternative = serializers.BooleanField(
        required=False,
        default=False,
        label="It is taken as an approved alternative: its condition holds here",
        help_text="It is printed on the record with the condition.",
    )
    why = serializers.CharField(
        max_length=200,
        required=False,
        allow_blank=True,
        default="",
        label="Why it is corrected",
        help_text="What was recorded stays in the history; a piece that was taken for it goes back to its lot. No names of people.",
    )


class FittedOut(serializers.ModelSerializer[TrayPart]):
    """A piece that went into gear: which, when, into what, and whose it is today."""

    part = serializers.CharField(source="movement.lot.part.number")
    lot = uid_of(source="movement.lot")
    lot_number = serializers.CharField(source="movement.lot.number")
    unit = serializers.CharField(source="movement.lot.part.unit", help_text="What the count counts.")
    job = uid_of(source="round.job")
    tray = serializers.IntegerField(source="round.job.number")
    item = uid_of(source="round.job.item")
    number = serializers.CharField(source="round.job.item.label", help_text="Of the item.")
    owner = uid_of(source="round.job.item.owner")

    class Meta:
        model = TrayPart
        fields = [
            "part",
            "lot",
            "lot_number",
            "key",
            "count",
            "unit",
            "at",
            "job",
            "tray",
            "item",
            "number",
            "owner",
        ]


class LotTraceOut(serializers.Serializer[Any]):
    """A lot, what is left of it, and every place its pieces went to, those out of its kits too."""

    lot = LotOut()
    fitted = FittedOut(many=True)


class TrayPartOut(serializers.ModelSerializer[TrayPart]):
    lot = serializers.CharField(source="movement.lot.number", default="")
    alternative = serializers.CharField(
        source="alternative.told", default="", help_text="As what it was taken, on which condition."
    )
    unit = serializers.CharField(
        source="movement.lot.part.unit", default=Unit.PIECE.value, help_text="What the count counts."
    )

    class Meta:
        model = TrayPart
        fields = ["key", "count", "unit", "ending", "origin", "words", "lot", "gas", "gas_rule", "overridden", "override", "alternative", "why", "at"]  # fmt: skip
