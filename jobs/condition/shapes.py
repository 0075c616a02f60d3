"""What is sent and seen of condition lists."""

from typing import Any

from rest_framework import serializers

from jobs.condition.models import Answer, ConditionList, Look
from jobs.condition.rules import AT_ONCE, MOST_ASKS, Said
from jobs.flow.models import Line
from shop.api.shapes import RowField, Shape, several, uid_of

LINES = Line.objects.select_related("item__model", "drop_off")
LONGEST = 120  # signs of one line of a list


class ConditionListIn(Shape):
    asks = serializers.ListField(
        child=serializers.CharField(max_length=LONGEST),
        max_length=MOST_ASKS,
        help_text="Empty: nothing is asked of this kind.",
    )


class ConditionListPageIn(Shape):
    """The page's way: one to a line."""

    asks = serializers.CharField(
        max_length=2500,
        allow_blank=True,
        label="What is looked at, one to a line",
        help_text=f"Say what might be seen, such as: Mouthpiece bitten or torn. At most {MOST_ASKS}; empty: nothing is asked of this kind.",
        style={"kind": "textarea", "attrs": {"rows": 10}},
    )

    def validate_asks(self, text: str) -> Any:
        rows = [row.strip() for row in text.splitlines() if row.strip()]
        shape = ConditionListIn(data={"asks": rows})
        if not shape.is_valid():
            raise serializers.ValidationError(f"At most {MOST_ASKS} lines of {LONGEST} signs each.")
        return shape.validated_data["asks"]


class ConditionListOut(serializers.ModelSerializer[ConditionList]):
    version = serializers.IntegerField()
    asks = serializers.ListField(child=serializers.CharField())
    at = serializers.DateTimeField(allow_null=True)

    class Meta:
        model = ConditionList
        fields = ["kind", "version", "asks", "at"]


class ConditionListsOut(serializers.Serializer[Any]):
    lists = ConditionListOut(many=True)


class LookAnswerIn(Shape):
    said = serializers.ChoiceField(
        choices=[(each.value, each.value) for each in Said], required=False, allow_blank=True, default=""
    )
    note = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class ConditionPieceIn(Shape):
    line = RowField(queryset=LINES)
    version = serializers.IntegerField(
        min_value=0, max_value=999_999_999, help_text="Of the list that was shown."
    )
    rest_fine = serializers.BooleanField(
        default=False,
        help_text="Whether what is answered in no other way is fine; else it was not looked at.",
    )
    answers = several(
        LookAnswerIn,
        required=False,
        max_length=MOST_ASKS,
        help_text="One to each line of the list, in its order.",
    )

    def validate(self, attrs: Any) -> Any:
        return {"answers": []} | attrs


class ConditionLookIn(Shape):
    pieces = several(ConditionPieceIn, allow_empty=False, max_length=AT_ONCE)


class LookAnswerOut(serializers.ModelSerializer[Answer]):
    class Meta:
        model = Answer
        fields = ["n", "words", "said", "note"]


class ConditionLookOut(serializers.ModelSerializer[Look]):
    line = uid_of()
    by = uid_of()
    answers = LookAnswerOut(many=True)

    class Meta:
        model = Look
        fields = ["uid", "line", "n", "kind", "list_n", "at", "by", "answers"]


class ConditionLooksOut(serializers.Serializer[Any]):
    looks = ConditionLookOut(many=True)
