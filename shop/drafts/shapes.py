"""What is sent and seen of drafts and differences; a plan's document as the text of a page."""

import json
from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape, uid_of
from shop.catalogue.shapes import ModelOut, PlanShape, key_field
from shop.drafts.models import Draft


class DraftIn(Shape):
    document = PlanShape()


def document_text() -> serializers.CharField:
    """The page's field for a document: the JSON as text."""
    return serializers.CharField(
        max_length=200_000,
        help_text="A plan document as JSON; fixtures/plans holds examples.",
        style={"kind": "textarea"},
    )


def read_document(text: str) -> Any:
    """The document in a text of a page, in the shape of a plan."""
    try:
        given = json.loads(text)
        json.dumps(given, ensure_ascii=False).encode()
        shape = PlanShape(data=given)
        shape.is_valid(raise_exception=True)
    except UnicodeEncodeError:
        raise serializers.ValidationError("It holds half a character.") from None
    except RecursionError:
        raise serializers.ValidationError("It is nested too deeply.") from None
    except json.JSONDecodeError as error:
        raise serializers.ValidationError(f"This is not a plan document in JSON: {error}") from None
    return shape.validated_data


class PlanPageIn(Shape):
    """The page's way to issue a plan or to begin a draft: the document as text."""

    key = key_field(help_text="For example overhaul; the next version of the same key follows it.")
    document = document_text()

    def validate_document(self, text: str) -> Any:
        return read_document(text)


class DraftPageIn(Shape):
    """The page's way to change a draft."""

    document = document_text()

    def validate_document(self, text: str) -> Any:
        return read_document(text)


class RefusalOut(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()


class DraftOut(serializers.ModelSerializer[Draft]):
    model = ModelOut()
    made_by = uid_of()
    issued_as = uid_of(allow_null=True)
    refusals = RefusalOut(many=True, help_text="Why it cannot be issued as it stands.")

    class Meta:
        model = Draft
        fields = [
            "uid",
            "model",
            "key",
            "document",
            "version",
            "state",
            "made_at",
            "made_by",
            "changed_at",
            "issued_as",
            "refusals",
        ]


class DifferenceOut(serializers.Serializer[Any]):
    change = serializers.ChoiceField(choices=["added", "taken out", "changed"])
    where = serializers.CharField()
    what = serializers.CharField(allow_blank=True, help_text="Empty when a whole row was added or taken out.")
    old = serializers.CharField(allow_blank=True)
    new = serializers.CharField(allow_blank=True)


class DifferencesOut(serializers.Serializer[Any]):
    """What changed from an older plan to a newer one; `old` is null when there is nothing to compare with."""

    old = serializers.UUIDField(allow_null=True)
    differences = DifferenceOut(many=True)
