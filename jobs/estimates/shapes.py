"""What is sent and seen of estimates, go-aheads and supplements; money as decimal text with its currency."""

from typing import Any

from rest_framework import serializers

from jobs.estimates.models import HOW, Charge, GoAhead
from jobs.estimates.rules import WentBack
from jobs.flow.models import Job
from shop.api.shapes import CurrencyField, MoneyField, RowField, Shape, uid_of
from shop.catalogue.models import PlanVersion
from shop.money.rules import Payer
from shop.workshop.rules import money, pairs

HOW_CHOICES = [(how, how) for how in HOW]


def said_on() -> serializers.DateField:
    """The day on which somebody said it."""
    return serializers.DateField(
        required=False, allow_null=True, default=None, label="Said on", help_text="Left open: today."
    )


class GoAheadIn(Shape):
    amount = MoneyField(label="Up to")
    given_by = serializers.CharField(max_length=160, label="Given by")
    how = serializers.ChoiceField(choices=HOW_CHOICES, initial="in person")
    said_on = said_on()


class GoAheadOut(serializers.ModelSerializer[GoAhead]):
    amount = serializers.SerializerMethodField()
    drop_off = uid_of()

    class Meta:
        model = GoAhead
        fields = ["uid", "drop_off", "amount", "currency", "given_by", "how", "said_on", "at"]

    def get_amount(self, row: GoAhead) -> str:
        return money(row.amount, row.currency)


def rate_field() -> serializers.CharField:
    """The name of a rate of tax."""
    return serializers.CharField(
        max_length=40, required=False, allow_blank=True, allow_null=True, default=None, label="Rate of tax",
        help_text="None: no tax.",
    )  # fmt: skip


def text(label: str, most: int, **more: Any) -> serializers.CharField:
    """A note that may be left empty."""
    return serializers.CharField(
        max_length=most, required=False, allow_blank=True, default="", label=label, **more
    )


class PriceIn(Shape):
    """Who pays for a line, at which rate, and what is taken off it."""

    payer = serializers.ChoiceField(
        choices=pairs(Payer), initial=Payer.CUSTOMER.value, default=Payer.CUSTOMER.value, label="Paid by"
    )
    rate = rate_field()
    discount = MoneyField(required=False, label="Discount", initial="0")
    reason = text("Why the discount", 200)


class PlanPriceIn(PriceIn):
    plan = RowField(queryset=PlanVersion.objects.select_related("model"), label="Service plan")


class ChargeIn(PriceIn):
    what = serializers.CharField(
        max_length=160, label="What for", help_text="As it stands on the bill; no names of people."
    )
    amount = MoneyField(label="Amount", help_text="As prices are here: with or without tax.")
    job = RowField(
        queryset=Job.objects.all(), required=False, allow_null=True, default=None,
        label="Of which gear",
    )  # fmt: skip
    likely = serializers.BooleanField(
        default=False, label="Only likely", help_text="It is charged only once it was needed."
    )


class SupplementIn(Shape):
    what = serializers.CharField(
        max_length=160, label="What was found", help_text="As the customer will read it."
    )
    amount = MoneyField(label="It would cost", help_text="As prices are here: with or without tax.")
    rate = rate_field()


class SupplementAnswerIn(Shape):
    answer = serializers.ChoiceField(
        choices=[("agreed", "agreed"), ("declined", "declined")], label="The answer"
    )
    amount = MoneyField(
        required=False, allow_null=True, default=None, label="Up to, in all",
        help_text="The new go-ahead for the whole drop-off; only if agreed.",
    )  # fmt: skip
    went_back = serializers.ChoiceField(
        choices=pairs(WentBack), required=False, allow_blank=True, default="", label="The gear is",
        help_text="Only if declined. Whoever collects it acknowledges it.",
    )  # fmt: skip
    given_by = serializers.CharField(max_length=160, label="Said by")
    how = serializers.ChoiceField(choices=HOW_CHOICES, initial="by telephone")
    said_on = said_on()


class ChargeOut(serializers.ModelSerializer[Charge]):
    amount, discount = MoneyField(), MoneyField()
    currency = CurrencyField()
    drop_off = uid_of()
    job = uid_of(allow_null=True)
    plan = uid_of(source="plan_version", allow_null=True)

    class Meta:
        model = Charge
        fields = [
            "uid", "drop_off", "job", "plan", "what", "amount", "discount", "reason", "currency", "payer", "rate", "state",
            "at", "given_by", "how", "said_on", "answered_at", "went_back", "asked_again_at", "version",
        ]  # fmt: skip


class WaitingOut(serializers.Serializer[Any]):
    charge = ChargeOut()
    days = serializers.IntegerField(help_text="Since the customer was asked.")
    again = serializers.BooleanField(help_text="Whether it is time to ask again.")


class WaitingList(serializers.Serializer[Any]):
    supplements = WaitingOut(many=True)


class EntryOut(serializers.Serializer[Any]):
    key = serializers.CharField()
    tray = serializers.IntegerField(allow_null=True)
    plan = serializers.UUIDField(allow_null=True)
    charge = serializers.UUIDField(source="uid", allow_null=True)
    what = serializers.CharField()
    includes = serializers.CharField(help_text="Labour and parts in the price of a plan.")
    amount, discount = MoneyField(), MoneyField()
    reason = serializers.CharField()
    payer = serializers.CharField()
    rate = serializers.CharField(source="rate.name")
    percent = serializers.CharField(source="rate.percent")
    state = serializers.CharField()


class GroupOut(serializers.Serializer[Any]):
    rate = serializers.CharField(source="rate.name")
    percent = serializers.CharField(source="rate.percent")
    net, tax, gross = MoneyField(), MoneyField(), MoneyField()


class TotalsOut(serializers.Serializer[Any]):
    payer = serializers.CharField()
    groups = GroupOut(many=True)
    net, tax, gross, rounding = MoneyField(), MoneyField(), MoneyField(), MoneyField()
    payable = MoneyField(help_text="The gross, rounded to the smallest coin.")


class EstimateOut(serializers.Serializer[Any]):
    drop_off = serializers.UUIDField(source="drop_off.uid")
    currency = serializers.CharField()
    prices_include_tax = serializers.BooleanField(source="terms.inclusive")
    rounding = serializers.CharField(source="terms.rounding")
    lines = EntryOut(source="entries", many=True)
    totals = TotalsOut(source="said", many=True)
    price = MoneyField(help_text="What the customer pays, tax included.")
    with_likely = MoneyField(help_text="The same with what is only likely.")
    go_ahead = GoAheadOut(allow_null=True)
