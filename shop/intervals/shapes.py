"""What is sent and seen of a rule for an interval."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import RowField, Shape, uid_of
from shop.catalogue.models import Model
from shop.catalogue.shapes import key_field
from shop.gases.shapes import ShareField
from shop.intervals.models import Interval
from shop.intervals.rules import Anchor, Material, Status, Use
from shop.workshop.rules import Kind, pairs

MOST_MONTHS, MOST_COUNTED = 600, 1_000_000


def _text(most: int, **more: Any) -> serializers.CharField:
    return serializers.CharField(max_length=most, required=False, allow_blank=True, default="", **more)


def _number(most: int, label: str, **more: Any) -> serializers.IntegerField:
    return serializers.IntegerField(
        min_value=1, max_value=most, required=False, allow_null=True, default=None, label=label, **more
    )


def _choice(choices: list[tuple[str, str]], label: str, help_text: str) -> serializers.ChoiceField:
    return serializers.ChoiceField(
        choices=choices, required=False, allow_blank=True, default="", label=label, help_text=help_text
    )


class IntervalIn(Shape):
    title = serializers.CharField(
        max_length=80, label="What must be done", help_text="As its clock is called."
    )
    clock = key_field(
        label="Key of the clock",
        help_text="The key that plans use too, such as overhaul, visual or pressure_test: a service then satisfies it.",
    )
    document = serializers.CharField(max_length=160, help_text="The rule or the maker's manual that says so.")
    edition = _text(60)
    section = _text(60)
    source = serializers.CharField(  # type: ignore[assignment]  # the field named source hides DRF's own
        max_length=200, help_text="Where it was read."
    )
    status = serializers.ChoiceField(choices=pairs(Status), label="How sure is it")
    months = _number(MOST_MONTHS, "Every", style={"unit": "months"})
    dives = _number(MOST_COUNTED, "Or every", style={"unit": "dives"}, help_text="Whichever comes first.")
    hours = _number(MOST_COUNTED, "Or every", style={"unit": "hours"})
    kind = _choice([(k.value, k.label) for k in Kind], "For gear of the kind", "Empty for any.")
    model = RowField(
        queryset=Model.objects.all(),
        required=False,
        allow_null=True,
        default=None,
        help_text="A maker's interval is for its model; empty for every model.",
    )
    place = _text(80, help_text="Where it holds. Empty: it holds here, whatever places are followed.")
    words = _text(300, label="What it asks besides", help_text="No names of people.")
    specification = _text(80, help_text="Such as 3AL; several with a blank between. Empty for any.")
    material = _choice(pairs(Material), "Of the material", "Empty for any.")
    use = _choice(pairs(Use), "Used for", "Empty for any use.")
    oxygen_above = ShareField(
        required=False,
        allow_null=True,
        default=None,
        label="Used with more oxygen than",
        help_text="Empty for any gas.",
    )
    anchor = serializers.ChoiceField(
        choices=[(each.value, each.label) for each in Anchor],
        default=Anchor.DONE.value,
        initial=Anchor.DONE.value,
        label="The first period counts from",
    )
    month_end = serializers.BooleanField(default=False, label="Due on the last day of the month")
    grace_days = _number(
        400,
        "A programme takes the proof for so many days more",
        style={"unit": "days"},
        help_text="Empty for none.",
    )

    def validate_specification(self, text: str) -> str:
        """Each of them once, with one blank between."""
        return " ".join(dict.fromkeys(text.split()))


class IntervalOut(serializers.ModelSerializer[Interval]):
    model = uid_of(allow_null=True)
    oxygen_above = ShareField(allow_null=True)
    replaces = uid_of(allow_null=True)
    state = serializers.ChoiceField(
        choices=["proposed", "in force", "withdrawn", "set aside"], read_only=True
    )

    class Meta:
        model = Interval
        fields = [
            "uid", "place", "document", "edition", "section", "clock", "title", "kind", "model", "specification",
            "material", "use", "oxygen_above", "months", "dives", "hours", "grace_days", "anchor", "month_end",
            "words", "source", "status", "replaces", "state", "version",
        ]  # fmt: skip
