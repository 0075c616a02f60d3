"""What is sent and seen of the oxygen threshold; shares of oxygen are decimal text in percent."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.gases.rules import LEAST, MOST, WHOLE, percent


class ShareField(serializers.DecimalField):
    """A share of oxygen in percent, which is kept in tenths of a percent."""

    def __init__(self, least: int = 0, most: int = WHOLE, **given: Any):
        self.least, self.most = least, most
        style = {"unit": "%", "inputmode": "decimal"}
        super().__init__(max_digits=4, decimal_places=1, style=style, **given)

    def to_internal_value(self, data: Any) -> Any:
        share = int(super().to_internal_value(data).scaleb(1))
        if not self.least <= share <= self.most:
            said = f"Give a share from {percent(self.least)} to {percent(self.most)}."
            raise serializers.ValidationError(said)
        return share

    def to_representation(self, value: Any) -> Any:
        return super().to_representation(Decimal(value).scaleb(-1))


class ThresholdIn(Shape):
    threshold = ShareField(LEAST, MOST, label="Gas counts as enriched above", help_text="Of oxygen.")


class ThresholdOut(serializers.Serializer[Any]):
    threshold = ShareField()
    version = serializers.IntegerField()
