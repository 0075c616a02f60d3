"""What is sent and seen of models and plans; the shape of a plan's document."""

import json
from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape, several
from shop.catalogue.models import Model, PlanVersion
from shop.catalogue.rules import DECISIONS, METHODS, REPEATS, WORKING_LEGS
from shop.workshop.rules import Kind


def key_field(**more: Any) -> serializers.RegexField:
    """A key within a plan."""
    return serializers.RegexField(r"^[a-z][a-z0-9_]*$", max_length=40, **more)


class ModelIn(Shape):
    maker = serializers.CharField(max_length=80)
    name = serializers.CharField(max_length=80)
    revision = serializers.CharField(max_length=40, required=False, allow_blank=True, default="")
    kind = serializers.ChoiceField(choices=[(k.value, k.label) for k in Kind])
    design = serializers.CharField(
        max_length=80,
        required=False,
        allow_blank=True,
        default="",
        help_text="For example: balanced diaphragm.",
    )


class ModelOut(serializers.ModelSerializer[Model]):
    class Meta:
        model = Model
        fields = ["uid", "maker", "name", "revision", "kind", "design"]


def open_text(most: int, **more: Any) -> serializers.CharField:
    """A text that may stay empty but must be there."""
    return serializers.CharField(max_length=most, allow_blank=True, **more)


class LoosePartShape(Shape):
    key = key_field()
    name = serializers.CharField(max_length=80)
    count = serializers.IntegerField(min_value=1, max_value=99)
    shape = serializers.ChoiceField(
        choices=["ring", "disc", "spring", "pin", "plug", "seat", "filter", "screw", "other"]
    )
    renew = open_text(40, help_text="Number of the stock part, or empty.")


class StepShape(Shape):
    key = key_field()
    leg = serializers.ChoiceField(choices=WORKING_LEGS)
    title = serializers.CharField(max_length=120)
    words = open_text(1000)
    tool = open_text(120)
    caution = open_text(300)
    why = open_text(500)
    source = open_text(200)  # type: ignore[assignment]  # the field hides DRF's own
    minutes = serializers.IntegerField(min_value=0, max_value=600)
    frees = serializers.ListField(child=key_field(), max_length=40)
    torque_n_m = open_text(10)


class BoundShape(Shape):
    quantity = serializers.CharField(max_length=40)
    label = serializers.CharField(max_length=80)  # type: ignore[assignment]  # the field named label hides DRF's own
    unit = serializers.ChoiceField(choices=["bar", "mbar", "kPa", "psi", "bar_min", "s", "N_m"])
    low = open_text(20)
    high = open_text(20)
    decision = serializers.ChoiceField(choices=DECISIONS)
    source = serializers.CharField(max_length=300)  # type: ignore[assignment]  # likewise


class BenchTestShape(Shape):
    key = key_field()
    title = serializers.CharField(max_length=120)
    method = serializers.ChoiceField(choices=list(METHODS))
    repeat = serializers.ChoiceField(choices=REPEATS)
    needs = serializers.CharField(max_length=40, help_text="The kind of instrument.")
    bounds = several(BoundShape, allow_empty=False, max_length=10)


class ClockShape(Shape):
    key = key_field()
    title = serializers.CharField(max_length=80)
    months = serializers.IntegerField(min_value=1, max_value=240)


class PlanShape(Shape):
    """The whole document of a plan."""

    title = serializers.CharField(max_length=120)
    legs = serializers.ListField(child=serializers.ChoiceField(choices=WORKING_LEGS), max_length=4)
    price = serializers.IntegerField(
        min_value=0, max_value=10_000_000, help_text="In the smallest unit of money."
    )
    minutes = serializers.IntegerField(min_value=0, max_value=6000)
    second_person = serializers.BooleanField()
    clock = ClockShape()
    parts = several(LoosePartShape, max_length=100)
    steps = several(StepShape, max_length=100)
    tests = several(BenchTestShape, max_length=30)
    cautions = serializers.ListField(child=serializers.CharField(max_length=300), max_length=20)


class PlanIn(Shape):
    key = key_field()
    document = PlanShape()


class PlanPageIn(Shape):
    """The page's way to issue a plan: the document as text."""

    key = key_field(help_text="For example overhaul; the next version of the same key follows it.")
    document = serializers.CharField(
        max_length=200_000,
        help_text="A plan document as JSON; fixtures/plans holds examples.",
        style={"kind": "textarea"},
    )

    def validate_document(self, text: str) -> Any:
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


class PlanOut(serializers.ModelSerializer[PlanVersion]):
    model = ModelOut()

    class Meta:
        model = PlanVersion
        fields = ["uid", "model", "key", "n", "document", "digest", "issued_at"]
