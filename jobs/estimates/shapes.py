"""What is sent and seen of a go-ahead; money as decimal text with its currency."""

from decimal import Decimal

from rest_framework import serializers

from jobs.estimates.models import HOW, GoAhead
from shop.api.shapes import Shape, uid_of
from shop.workshop.reads import currency
from shop.workshop.rules import money, smallest


class GoAheadIn(Shape):
    amount = serializers.DecimalField(
        max_digits=9,
        decimal_places=3,
        min_value=Decimal(0),
        label="Up to",
        style={"inputmode": "decimal"},
        error_messages={"invalid": "Write a plain number with a point, such as 95.00."},
    )
    given_by = serializers.CharField(max_length=160, label="Given by")
    how = serializers.ChoiceField(choices=[(how, how) for how in HOW], initial="in person")

    def validate_amount(self, value: Decimal) -> int:
        units = smallest(value, currency())
        if units is None:
            raise serializers.ValidationError(f"{currency()} has fewer decimals than that.")
        return units


class GoAheadOut(serializers.ModelSerializer[GoAhead]):
    amount = serializers.SerializerMethodField()
    drop_off = uid_of()

    class Meta:
        model = GoAhead
        fields = ["uid", "drop_off", "amount", "currency", "given_by", "how", "at"]

    def get_amount(self, row: GoAhead) -> str:
        return money(row.amount, row.currency)
