"""What is sent and seen of a wording."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape, several
from shop.wording.rules import MOST_SUBJECT, MOST_TEXT


class WordingIn(Shape):
    subject = serializers.CharField(max_length=MOST_SUBJECT, style={"autocomplete": "off"})
    text = serializers.CharField(
        max_length=MOST_TEXT,
        style={"kind": "textarea", "attrs": {"rows": 18}},
        help_text="An empty line begins a new paragraph. A paragraph whose place has nothing to fill it is left out.",
    )


class WordingOut(serializers.Serializer[Any]):
    which = serializers.CharField()
    letter = serializers.CharField(source="key")
    language = serializers.CharField()
    subject = serializers.CharField(source="wording.subject")
    text = serializers.CharField(source="wording.text")
    own = serializers.BooleanField(help_text="Whether these are the workshop's own words.")
    broken = serializers.SerializerMethodField(
        help_text="Why the own words are not used, where there are any."
    )
    version = serializers.IntegerField()

    def get_broken(self, told: Any) -> list[str]:
        return [each.sentence for each in told.broken]


class WordingsOut(serializers.Serializer[Any]):
    wordings = several(WordingOut)


class WordedOut(serializers.Serializer[Any]):
    subject = serializers.CharField()
    text = serializers.CharField()
    html = serializers.CharField()
