"""What is sent and seen of alternatives."""

from typing import Any

from rest_framework import serializers

from shop.alternatives.models import Alternative
from shop.api.shapes import RowField, Shape, uid_of
from shop.stock.models import Part


class AlternativeIn(Shape):
    """A size alone approves nothing: it takes a condition, and somebody who says so."""

    other = RowField(queryset=Part.objects.all(), label="Which part may take its place")
    condition = serializers.CharField(
        max_length=300, help_text="When it may: for which gear, from which serial on, with what else renewed."
    )
    source: Any = serializers.CharField(
        max_length=200, label="By whose word", help_text="For example the maker's bulletin, with its number."
    )
    supersedes = serializers.BooleanField(
        required=False, default=False, label="The maker gives it in this part's place from now on"
    )


class AlternativeEndIn(Shape):
    why = serializers.CharField(max_length=200, label="Why it ends", help_text="No names of people.")


class AlternativeOut(serializers.ModelSerializer[Alternative]):
    part = uid_of()
    other = uid_of()
    number = serializers.CharField(source="other.number", help_text="Of the part that may take the place.")

    class Meta:
        model = Alternative
        fields = ["uid", "part", "other", "number", "condition", "source", "supersedes", "ended_at"]
