"""What is sent and seen of the signing keys."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.signing.models import SigningKey


class ChangeKeyIn(Shape):
    reason = serializers.CharField(max_length=300, label="Why", style={"kind": "textarea"})


class SigningKeyOut(serializers.ModelSerializer[SigningKey]):
    class Meta:
        model = SigningKey
        fields = ["number", "key", "public", "made_at", "retired_at"]


class SigningKeysOut(serializers.Serializer[Any]):
    workshop = serializers.CharField()
    algorithm = serializers.CharField()
    keys = SigningKeyOut(many=True)
