"""What is sent and seen of a go-ahead; money as decimal text with its currency."""

from rest_framework import serializers

from jobs.estimates.models import HOW, GoAhead
from shop.api.shapes import MoneyField, Shape, uid_of
from shop.workshop.rules import money


class GoAheadIn(Shape):
    amount = MoneyField(label="Up to")
    given_by = serializers.CharField(max_length=160, label="Given by")
    how = serializers.ChoiceField(choices=[(how, how) for how in HOW], initial="in person")


class GoAheadOut(serializers.ModelSerializer[GoAhead]):
    amount = serializers.SerializerMethodField()
    drop_off = uid_of()

    class Meta:
        model = GoAhead
        fields = ["uid", "drop_off", "amount", "currency", "given_by", "how", "at"]

    def get_amount(self, row: GoAhead) -> str:
        return money(row.amount, row.currency)
