"""What is sent and seen of suppliers, offers and orders; money as decimal text with its currency."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import MoneyField, RowField, Shape, several, uid_of
from shop.orders.models import Order, Receipt
from shop.orders.rules import How
from shop.stock.shapes import ReceiveIn
from shop.suppliers.models import Offer

HOW = {
    How.E_MAIL: "by e-mail: a letter with the order as PDF and CSV",
    How.TELEPHONE: "it was telephoned",
    How.PAPER: "it was printed and handed over or posted",
}


class PacksIn(Shape):
    packs = serializers.IntegerField(
        min_value=1,
        max_value=10_000,
        label="How many packs",
        style={"unit": "packs"},
        help_text="So many stand on the draft afterwards, whatever stood there.",
    )


class WishIn(PacksIn):
    offer = RowField(queryset=Offer.objects.select_related("part", "supplier"))


class OrderLinesIn(Shape):
    lines = several(WishIn, max_length=200)


class SendIn(Shape):
    how = serializers.ChoiceField(
        choices=[(how.value, said) for how, said in HOW.items()], label="How it is sent"
    )


class OrderCloseIn(Shape):
    reason = serializers.CharField(
        max_length=200, label="Why no more is waited for", help_text="No names of people."
    )


class LineReceiveIn(ReceiveIn):
    cost = MoneyField(
        required=False,
        allow_null=True,
        default=None,
        label="What all of it cost",
        help_text="Left open: by the price on the order.",
    )
    more = serializers.BooleanField(
        required=False, default=False, label="More came than was still missing; I counted twice"
    )


class OrderOut(serializers.ModelSerializer[Order]):
    supplier = uid_of()
    version = serializers.IntegerField(read_only=True)

    class Meta:
        model = Order
        fields = [
            "uid",
            "number",
            "supplier",
            "state",
            "how",
            "sent_at",
            "expected_on",
            "closed_at",
            "reason",
            "version",
        ]


class TakeBackIn(Shape):
    reason = serializers.CharField(max_length=60, label="Why it was wrong", help_text="No names of people.")


class ReceiptOut(serializers.ModelSerializer[Receipt]):
    """What came of a line, into which lot; it does not count once it was taken back."""

    lot = uid_of(source="movement.lot")
    quantity = serializers.IntegerField(source="movement.quantity")
    at = serializers.DateTimeField(source="movement.at")
    taken_back = serializers.BooleanField(read_only=True)

    class Meta:
        model = Receipt
        fields = ["uid", "lot", "quantity", "at", "taken_back"]


class OrderRowOut(serializers.Serializer[Any]):
    """A line of an order; what stands on a draft follows its offer until it is sent."""

    uid = serializers.UUIDField()
    part = serializers.UUIDField(source="part.uid")
    number = serializers.CharField(help_text="The supplier's.")
    packs = serializers.IntegerField()
    pack_size = serializers.IntegerField()
    unit = serializers.CharField(source="part.unit", help_text="What pack size, came and missing count.")
    price = MoneyField(allow_null=True, help_text="Of a pack; null where it is not known.")
    came = serializers.IntegerField(help_text="Pieces that were received.")
    missing = serializers.IntegerField(help_text="Pieces that did not come yet.")
    receipts = ReceiptOut(many=True, help_text="What came, in its order.")


class OrderSheetOut(serializers.Serializer[Any]):
    """An order with its lines."""

    order = OrderOut()
    standing = serializers.CharField(help_text="In words, with what came.")
    currency = serializers.CharField()
    total = MoneyField(help_text="Of the lines with a price.")
    unpriced = serializers.IntegerField(help_text="How many lines have none.")
    lines = OrderRowOut(many=True, source="rows")


class ToOrderOut(serializers.Serializer[Any]):
    """A part of which no more than its minimum is free."""

    part = serializers.UUIDField(source="part.uid")
    number = serializers.CharField(source="part.number")
    name = serializers.CharField(source="part.name")
    unit: Any = serializers.CharField(source="part.unit", help_text="Of each number here.")
    in_life = serializers.IntegerField(
        source="level.in_life", help_text="In life and not in doubt, those in unopened kits included."
    )
    spoken_for = serializers.IntegerField(source="level.spoken_for", help_text="What open jobs still need.")
    free = serializers.IntegerField(source="level.free", help_text="Below zero: so many are short.")
    minimum = serializers.IntegerField(
        source="part.minimum", allow_null=True, help_text="Null where it is watched at its sites only."
    )
    up_to = serializers.IntegerField(source="part.up_to", allow_null=True)
    coming = serializers.IntegerField(source="pieces_coming", help_text="Sent for, and not here yet.")
    drafted = serializers.IntegerField(help_text="On drafts that nobody has sent.")
    quantity = serializers.IntegerField(help_text="How many to order now, besides those.")


class ToOrderList(serializers.Serializer[Any]):
    """What is to be ordered on a day."""

    day = serializers.DateField()
    parts = ToOrderOut(many=True)
