"""What is sent and seen of terms."""

from rest_framework import serializers

from jobs.terms.models import Accepted, Terms
from jobs.terms.rules import How
from shop.api.shapes import Shape, uid_of


class OwnTermsIn(Shape):
    text = serializers.CharField(
        max_length=20_000,
        allow_blank=True,
        label="Your terms",
        help_text="In your own words, as your law has it; nothing comes with the house. Empty: none are asked for.",
        style={"kind": "textarea", "attrs": {"rows": 16}},
    )


class OwnTermsOut(serializers.ModelSerializer[Terms]):
    version = serializers.IntegerField()
    at = serializers.DateTimeField(allow_null=True)

    class Meta:
        model = Terms
        fields = ["version", "text", "at"]


class AcceptIn(Shape):
    how = serializers.ChoiceField(
        choices=[(how.value, how.value) for how in How], label="Accepted", style={"kind": "radio"}
    )
    name = serializers.CharField(
        max_length=160,
        label="Name",
        help_text="Of whoever accepts: they type it themselves, or as it is signed.",
    )
    terms = serializers.IntegerField(min_value=1, help_text="The version of the terms that were shown.")


class AcceptedOut(serializers.ModelSerializer[Accepted]):
    drop_off = uid_of()
    terms = serializers.IntegerField(source="terms.n")

    class Meta:
        model = Accepted
        fields = ["uid", "drop_off", "terms", "how", "name", "at"]
