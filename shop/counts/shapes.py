"""What is sent and seen of a count."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import RowField, Shape, uid_of
from shop.counts.models import Count
from shop.counts.reads import sheet
from shop.stock.models import Lot
from shop.stock.shapes import BinOut


class NumberIn(Shape):
    lot = RowField(queryset=Lot.objects.all())
    counted = serializers.IntegerField(
        min_value=0,
        max_value=100_000,
        label="How many lie there",
        help_text="In the unit of the part. None is a number too. What is taken from now on is not counted.",
    )
    alone = serializers.BooleanField(
        required=False,
        default=False,
        label="I count the second time too; nobody else is here",
        help_text="It is recorded.",
    )


class CountCloseIn(Shape):
    reason = serializers.CharField(max_length=60, label="Why", help_text="No names of people.")


class RowOut(serializers.Serializer[Any]):
    """A lot of the sheet; its number and difference are told once it is counted."""

    lot = uid_of()
    number = serializers.CharField(source="lot.number")
    part = serializers.CharField(source="lot.part.number")
    unit = serializers.CharField(source="lot.part.unit")
    standing = serializers.CharField()
    counted = serializers.IntegerField(allow_null=True)
    difference = serializers.IntegerField(allow_null=True)
    alone = serializers.BooleanField(help_text="The second number is from whoever entered the first.")


class CountOut(serializers.ModelSerializer[Count]):
    bin = BinOut()

    class Meta:
        model = Count
        fields = ["uid", "bin", "begun_at", "closed_at", "booked", "reason"]


class CountSheetOut(CountOut):
    rows = serializers.SerializerMethodField()

    class Meta(CountOut.Meta):
        fields = [*CountOut.Meta.fields, "rows"]

    def get_rows(self, row: Count) -> "list[dict[str, Any]]":
        return [RowOut(each).data for each in sheet(row)]
