"""What is sent and seen of a likely cause."""

from rest_framework import serializers

from shop.advice.models import Advice
from shop.advice.rules import SOURCE, Side
from shop.api.shapes import Shape
from shop.workshop.rules import Kind


class AdviceIn(Shape):
    what = serializers.CharField(
        max_length=60,
        label="What was measured or tried",
        help_text="A quantity, such as creep or lock-up, or the key of a plan's test or function. “hunting” is seen in a trace.",
    )
    side = serializers.ChoiceField(
        choices=[(each.value, each.label) for each in Side], style={"kind": "radio"}, label="It is"
    )
    kind = serializers.ChoiceField(
        choices=[(k.value, k.label) for k in Kind],
        required=False,
        allow_blank=True,
        default="",
        label="On gear of the kind",
        help_text="Empty for any.",
    )
    part = serializers.CharField(max_length=80, help_text="Which part is likely behind it.")
    words = serializers.CharField(max_length=300, help_text="What is wrong with it, and how to see that.")
    source = serializers.CharField(  # type: ignore[assignment]  # the field named source hides DRF's own
        max_length=200, required=False, default=SOURCE, initial=SOURCE
    )


class AdviceOut(serializers.ModelSerializer[Advice]):
    class Meta:
        model = Advice
        fields = ["uid", "what", "side", "kind", "part", "words", "source", "withdrawn_at", "version"]


class TakenOut(serializers.Serializer[dict[str, int]]):
    added = serializers.IntegerField()
