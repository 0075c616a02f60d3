"""What is seen of letters and suppressed addresses, and what is said about them."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import AddressField, Shape
from shop.outbox.rules import MOST_BYTES, Shows
from shop.post.models import Letter, Suppressed
from shop.workshop.rules import pairs


class LettersIn(Shape):
    shows = serializers.ChoiceField(choices=pairs(Shows), default=Shows.ALL.value)


class LetterOut(serializers.ModelSerializer[Letter]):
    class Meta:
        model = Letter
        fields = [
            "uid",
            "recipient",
            "purpose",
            "run",
            "subject",
            "state",
            "attempts",
            "written_at",
            "sent_at",
            "error",
        ]


class SuppressIn(Shape):
    address = AddressField(label="E-mail address", max_length=254)
    why = serializers.CharField(
        label="Why", max_length=300, help_text="What happened, such as: a letter came back on 3 May."
    )


class SuppressedOut(serializers.ModelSerializer[Suppressed]):
    letter = serializers.UUIDField(source="letter.uid", allow_null=True, default=None)

    class Meta:
        model = Suppressed
        fields = ["uid", "address", "why", "since", "letter", "lifted_at"]


class ReportIn(Shape):
    report = serializers.CharField(
        max_length=MOST_BYTES,
        trim_whitespace=False,
        help_text="The report as it came: a message of RFC 3464.",
    )


class ReportOut(serializers.Serializer[Any]):
    letters = serializers.IntegerField(source="*", help_text="How many letters it changed.")
