"""What whoever holds a link sends, and what is seen of answers."""

from typing import Any

from rest_framework import serializers

from jobs.answers.models import Answer
from jobs.answers.rules import GONE
from shop.api.shapes import AddressField, Shape, uid_of
from shop.clocks.shapes import ElsewhereIn
from shop.workshop.rules import pairs


class SayElsewhereIn(ElsewhereIn):
    """The clocks' own shape, for one of those that are listed."""

    clock = serializers.UUIDField(label="What was done")

    def get_fields(self) -> Any:
        """What was done goes first."""
        fields = super().get_fields()
        return {"clock": fields.pop("clock")} | fields


class SayGoneIn(Shape):
    item = serializers.UUIDField(label="Which piece")
    said = serializers.ChoiceField(choices=pairs(GONE), style={"kind": "radio"}, label="It is")


class SayAddressIn(Shape):
    email = AddressField(max_length=254, label="Your other e-mail address", style={"autocomplete": "email"})


class LetterAnswerOut(serializers.ModelSerializer[Answer]):
    customer = uid_of(source="customer.kept")
    item = uid_of(allow_null=True)
    clock = uid_of(allow_null=True)
    email = serializers.SerializerMethodField(help_text="The other address that it names.")
    became = serializers.SerializerMethodField(
        help_text="Confirmed, set aside, done at once, or waits for the counter."
    )

    class Meta:
        model = Answer
        fields = ["uid", "customer", "said", "item", "clock", "day", "elsewhere", "email", "at", "became"]

    def get_email(self, row: Answer) -> str:
        return row.new_address.email if hasattr(row, "new_address") else ""

    def get_became(self, row: Answer) -> str:
        return row.became
