"""What is sent and seen of amounts that are put to customers."""

from rest_framework import serializers

from jobs.estimates.rules import WentBack
from jobs.quotes.models import Quote
from jobs.quotes.rules import Became
from shop.api.shapes import MoneyField, Shape, uid_of
from shop.workshop.rules import money, pairs


class QuoteIn(Shape):
    amount = MoneyField(label="Up to", help_text="In all, tax included.")


ANSWERS = [(Became.AGREED.value, "I agree"), (Became.DECLINED.value, "I decline")]


class AgreeIn(Shape):
    """`seen` is the number of what stood on the page."""

    answer = serializers.ChoiceField(choices=ANSWERS, style={"kind": "radio"}, label="Your answer")
    seen = serializers.IntegerField(min_value=0, max_value=10**9)


class AnswerMoreIn(AgreeIn):
    agreed = serializers.IntegerField(min_value=0, max_value=10**15)
    went_back = serializers.ChoiceField(
        choices=pairs(WentBack),
        default=WentBack.TOGETHER.value,
        initial=WentBack.TOGETHER.value,
        label="If declined, my gear is to be",
        help_text="What was found stays as it is. Read the record before anybody dives with it.",
    )


class QuoteOut(serializers.ModelSerializer[Quote]):
    amount = serializers.SerializerMethodField()
    drop_off = uid_of()

    class Meta:
        model = Quote
        fields = ["uid", "drop_off", "n", "amount", "currency", "at", "became", "ended_at"]

    def get_amount(self, row: Quote) -> str:
        return money(row.amount, row.currency)
