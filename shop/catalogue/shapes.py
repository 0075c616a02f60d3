"""What is sent and seen of models and plans; the shape of a plan's document."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape, several, uid_of
from shop.catalogue.models import Model, PlanVersion, Withdrawal
from shop.catalogue.rules import DECISIONS, METHODS, REPEATS, UNITS, WORKING_LEGS
from shop.workshop.rules import Kind, Unit, pairs


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


def later_text(most: int, **more: Any) -> serializers.CharField:
    """A text that came into the shape later: plans that were issued before do not have it."""
    return open_text(most, required=False, default="", **more)


class LoosePartShape(Shape):
    key = key_field()
    name = serializers.CharField(max_length=80)
    count = serializers.IntegerField(min_value=1, max_value=99)
    shape = serializers.ChoiceField(
        choices=["ring", "disc", "spring", "pin", "plug", "seat", "filter", "screw", "other"]
    )
    renew = open_text(40, help_text="Number of the stock part, or empty.")
    kit = later_text(40, help_text="Number of the maker's bagged kit that holds it, or empty.")
    unit = serializers.ChoiceField(
        choices=pairs(Unit),
        required=False,
        default=Unit.PIECE.value,
        help_text="What the count counts; grease and the like is measured out in the unit of its stock part.",
    )


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
    when = later_text(200, help_text="The condition under which this step is done; empty means always.")
    choice = key_field(
        required=False,
        allow_blank=True,
        default="",
        help_text="Of the steps with one choice exactly one is done.",
    )


class BoundShape(Shape):
    quantity = serializers.CharField(max_length=40)
    label = serializers.CharField(max_length=80)  # type: ignore[assignment]  # the field named label hides DRF's own
    unit = serializers.ChoiceField(choices=UNITS)
    low = open_text(20)
    high = open_text(20)
    decision = serializers.ChoiceField(choices=DECISIONS)
    source = serializers.CharField(max_length=300)  # type: ignore[assignment]  # likewise
    strict = serializers.BooleanField(
        required=False, default=False, help_text="The figure itself is outside: less than, not at most."
    )


class FunctionShape(Shape):
    key = key_field()
    title = serializers.CharField(max_length=80)
    unit = serializers.ChoiceField(
        choices=UNITS,
        required=False,
        allow_blank=True,
        default="",
        help_text="That of the figure that is read beside it; empty for none. Its limit is a bound on the key.",
    )
    words = later_text(500, help_text="How it is tried.")


class BenchTestShape(Shape):
    key = key_field()
    title = serializers.CharField(max_length=120)
    method = serializers.ChoiceField(choices=list(METHODS))
    repeat = serializers.ChoiceField(choices=REPEATS)
    needs = open_text(40, help_text="The kind of instrument; may be empty for a finding.")
    bounds = several(BoundShape, max_length=10)
    words = later_text(1000, help_text="How it is done; for a finding, by what it passes.")
    partner = serializers.ChoiceField(
        choices=[(k.value, k.label) for k in Kind],
        required=False,
        allow_blank=True,
        default="",
        help_text="The kind of gear that it needs beside the item.",
    )
    of_set = serializers.BooleanField(
        required=False, default=False, help_text="A final test of the whole set, its hoses refitted."
    )
    pressure_test = serializers.BooleanField(
        required=False,
        default=False,
        help_text="A pressure test of a cylinder, which not every workshop may do.",
    )
    functions = several(FunctionShape, max_length=30, required=False, default=list)


class PromiseShape(Shape):
    key = key_field()
    title = serializers.CharField(max_length=80)
    months = serializers.IntegerField(min_value=1, max_value=240)


class ClockShape(PromiseShape):
    also = several(
        PromiseShape,
        max_length=10,
        required=False,
        default=list,
        help_text="What else the service satisfies, as a pressure test does the visual inspection that is part of it.",
    )


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
    oxygen = serializers.BooleanField(required=False, default=False, help_text="Work on oxygen-clean gear.")


class PlanIn(Shape):
    key = key_field()
    document = PlanShape()


class WithdrawalIn(Shape):
    reason = serializers.CharField(
        max_length=300, help_text="What is wrong with it; a note on gear, without anybody's name."
    )


class WithdrawalOut(serializers.ModelSerializer[Withdrawal]):
    by = uid_of()

    class Meta:
        model = Withdrawal
        fields = ["reason", "at", "by"]


class PlanOut(serializers.ModelSerializer[PlanVersion]):
    model = ModelOut()
    withdrawn = WithdrawalOut(allow_null=True)

    class Meta:
        model = PlanVersion
        fields = ["uid", "model", "key", "n", "document", "digest", "issued_at", "withdrawn"]
