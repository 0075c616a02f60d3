"""What is sent and seen of bills and payments; money as decimal text with its currency."""

from typing import Any

from rest_framework import serializers

from jobs.bills.models import Bill, Payment
from jobs.bills.reads import groups
from jobs.bills.rules import Mark, Way
from jobs.estimates.shapes import text
from shop.api.shapes import MoneyField, Shape, uid_of
from shop.money.rules import Payer
from shop.workshop.rules import money, pairs


class BillIn(Shape):
    payer = serializers.ChoiceField(
        choices=pairs(Payer), initial=Payer.CUSTOMER.value, default=Payer.CUSTOMER.value, label="Bill for"
    )
    discount = MoneyField(
        required=False, initial="0", label="Discount on all of it",
        help_text="As prices are here; taken off each line by what it is worth.",
    )  # fmt: skip
    reason = text("Why the discount", 200)


class WhyIn(Shape):
    reason = serializers.CharField(max_length=200, label="Why", help_text="No names of people.")


class BillLineOut(serializers.Serializer[Any]):
    what = serializers.CharField(source="words")
    tray = serializers.IntegerField(allow_null=True)
    amount, discount = MoneyField(), MoneyField()
    reason = serializers.CharField(source="why")
    rate = serializers.CharField()


class BillOut(serializers.ModelSerializer[Bill]):
    number = serializers.CharField(source="label")
    drop_off = uid_of()
    corrects = uid_of(allow_null=True)
    total = serializers.SerializerMethodField()
    rounding = serializers.SerializerMethodField()
    lines = BillLineOut(source="document.lines", many=True)
    groups = serializers.SerializerMethodField()

    class Meta:
        model = Bill
        fields = [
            "uid", "number", "drop_off", "payer", "corrects", "reason", "total", "rounding", "currency", "lines", "groups", "on", "at",
        ]  # fmt: skip

    def get_total(self, row: Bill) -> str:
        return money(row.total, row.currency)

    def get_rounding(self, row: Bill) -> str:
        """What was added or taken off for the smallest coin."""
        return money(row.document["coin_rounding"], row.currency)

    def get_groups(self, row: Bill) -> list[dict[str, Any]]:
        """By rate, in the currency of the bill."""
        return [
            {"rate": each.rate.name, "percent": each.rate.percent}
            | {part: money(getattr(each, part), row.currency) for part in ("net", "tax", "gross")}
            for each in groups(row.document).groups
        ]


class PaymentIn(Shape):
    kind = serializers.ChoiceField(choices=pairs(Mark), initial=Mark.PAYMENT.value, label="It is a")
    amount = MoneyField(label="Amount")
    way = serializers.ChoiceField(choices=pairs(Way), initial=Way.CARD.value, label="By")
    on = serializers.DateField(
        required=False, allow_null=True, default=None, label="On", help_text="Left open: today."
    )
    above = serializers.BooleanField(
        default=False,
        label="More than is due was really paid",
        help_text="Only for a payment, where the rest is not given back at once. A deposit does not need it.",
    )


class PaymentOut(serializers.ModelSerializer[Payment]):
    amount = serializers.SerializerMethodField()
    drop_off = uid_of()
    takes_back = uid_of(allow_null=True)

    class Meta:
        model = Payment
        fields = ["uid", "drop_off", "kind", "amount", "currency", "way", "on", "takes_back", "reason", "at"]

    def get_amount(self, row: Payment) -> str:
        return money(row.amount, row.currency)
