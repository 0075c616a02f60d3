"""What is sent and seen of terms and rates; a rate is decimal text in percent."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import MoneyField, Shape
from shop.money.models import TaxRate
from shop.money.rules import MOST_SHARE, Rate, Rounding
from shop.workshop.rules import pairs


class PercentField(serializers.DecimalField):
    """A rate in percent, which is kept in thousandths of a percent."""

    def __init__(self, **more: Any):
        style = {"unit": "%", "inputmode": "decimal"}
        super().__init__(max_digits=6, decimal_places=3, style=style, **more)

    def to_internal_value(self, data: Any) -> Any:
        share = int(super().to_internal_value(data).scaleb(3))
        if not 0 <= share <= MOST_SHARE:
            raise serializers.ValidationError("Give a rate from 0 to 100 %.")
        return share

    def to_representation(self, value: Any) -> str:
        return Rate("", value).percent


def usual_rate(**more: Any) -> serializers.CharField:
    """The name of a rate; none where it is left empty."""
    return serializers.CharField(max_length=40, required=False, allow_blank=True, default="", **more)


class ReckoningIn(Shape):
    inclusive = serializers.BooleanField(
        label="Prices include tax", help_text="Those of plans and of lines that are added by hand."
    )
    rounding = serializers.ChoiceField(
        choices=pairs(Rounding), initial=Rounding.PER_RATE.value, label="Tax is rounded",
        help_text="Once for all lines of a rate, as EN 16931 does, or for each line; half a unit goes up.",
    )  # fmt: skip
    by_rule = serializers.CharField(
        max_length=200, required=False, allow_blank=True, default="", label="By which rule",
        help_text="The law or document that says so.",
    )  # fmt: skip
    usual = usual_rate(label="Usual rate", help_text="What plans and new lines have by themselves.")
    nudge_days = serializers.IntegerField(
        required=False, allow_null=True, default=None, min_value=1, max_value=365, label="Ask again after",
        help_text="How long a question to a customer may wait. Left open, nobody is reminded.",
        style={"unit": "days"},
    )  # fmt: skip
    coin = MoneyField(
        required=False, allow_null=True, label="Smallest coin",
        help_text="What is paid is rounded to it, such as 0.05; tax is not. Left open: it is not rounded.",
    )  # fmt: skip
    tax_number = serializers.CharField(
        max_length=40, required=False, allow_blank=True, default="", label="Our tax number",
        help_text="As bills print it. Left empty: they print none.",
    )  # fmt: skip


class ReckoningOut(serializers.Serializer[Any]):
    inclusive = serializers.BooleanField()
    rounding = serializers.CharField()
    by_rule = serializers.CharField()
    usual = serializers.CharField()
    nudge_days = serializers.IntegerField(allow_null=True)
    coin = MoneyField(help_text="What is paid is rounded to it.")
    currency = serializers.CharField()
    tax_number = serializers.CharField(help_text="The workshop's own, as bills print it.")
    version = serializers.IntegerField()


class RateIn(Shape):
    name = serializers.CharField(max_length=40, help_text="As it stands on bills.")
    percent = PercentField(
        source="share", required=False, allow_null=True, default=None, label="Rate",
        help_text="Left open: from that day on there is none of this name.",
    )  # fmt: skip
    from_day = serializers.DateField(label="From")


class RateOut(serializers.ModelSerializer[TaxRate]):
    percent = PercentField(source="share", allow_null=True)

    class Meta:
        model = TaxRate
        fields = ["uid", "name", "percent", "from_day", "at"]
