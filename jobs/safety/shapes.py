"""What is sent and seen of safety notices."""

from collections.abc import Callable
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from jobs.safety.models import Look, Notice
from jobs.safety.rules import MOST_LINES, Dates, read_lot, read_range
from shop.api.shapes import RowField, Shape, uid_of
from shop.catalogue.models import Model

LINES = {"oneOf": [{"type": "array", "items": {"type": "string"}}, {"type": "string"}]}


@extend_schema_field(LINES)
class LinesField(serializers.Field[Any, Any, Any, Any]):
    """Lines as a list, or as one text with a line each; every bad line is told at once, by its number."""

    def __init__(self, *, read: Callable[[str], Any], keeps: Callable[[str, Any], Any], **more: Any):
        self.read, self.keeps = read, keeps
        super().__init__(required=False, default=list, style={"kind": "textarea"}, **more)

    def to_internal_value(self, data: Any) -> list[Any]:
        given = data.splitlines() if isinstance(data, str) else data
        if not isinstance(given, list):
            raise serializers.ValidationError("Send lines: a list of texts, or one text.")
        if len(given) > MOST_LINES:
            raise serializers.ValidationError(f"At most {MOST_LINES} lines.")
        found, wrong = [], []
        for n, line in enumerate(given, start=1):
            try:
                text = serializers.CharField(max_length=200, allow_blank=True).run_validation(line)
            except serializers.ValidationError as error:
                wrong.append(f"Line {n}: {' '.join(str(each) for each in error.args[0])}")
                continue
            read = self.read(text) if text else None
            if isinstance(read, str):
                wrong.append(f"Line {n} (“{text[:40]}”): {read}.")
            elif read is not None:
                found.append(self.keeps(text, read))
        if wrong:
            raise serializers.ValidationError(wrong)
        return found


def _words(label: str, most: int = 500) -> serializers.CharField:
    return serializers.CharField(max_length=most, label=label, style={"kind": "textarea"})


def _day(label: str) -> serializers.DateField:
    return serializers.DateField(required=False, allow_null=True, default=None, label=label)


class TitledIn(Shape):
    title = serializers.CharField(
        max_length=120, help_text="What it is called in every refusal; no person's name."
    )
    source: Any = serializers.CharField(
        max_length=200, label="Whose notice it is", help_text="Its issuer, reference and date."
    )
    words = serializers.CharField(
        max_length=2000,
        required=False,
        allow_blank=True,
        default="",
        label="What it says",
        help_text="As issued. It stands in the letters to owners.",
        style={"kind": "textarea"},
    )


class NoticeIn(TitledIn):
    """What it names: models and ranges of serials together, lots by themselves; a period narrows both down."""

    models = serializers.ManyRelatedField(
        child_relation=RowField(queryset=Model.objects.all()),
        required=False,
        default=list,
        source="gear_models",
        style={"kind": "multi"},
        help_text="None: of any model.",
    )
    ranges = LinesField(
        read=read_range,
        keeps=lambda text, _: text,
        label="Serials, one range a line",
        help_text="AB1200 to AB3499, or AB1200,AB3499 as in a CSV; AB12* for all that begin so; or one serial. Empty: any.",
    )
    lots = LinesField(
        read=read_lot,
        keeps=lambda _, read: dict(zip(("part", "lot"), read, strict=True)),
        label="Lots, one line each",
        help_text="The part's number, a colon, and a lot or a range of lots: TH-302: L2231 to L2240.",
    )
    dates = serializers.ChoiceField(
        choices=[(each.value, each.value) for each in Dates],
        required=False,
        allow_blank=True,
        default="",
        label="A period, of what",
        help_text="Of gear no day of making is on record: there “made” narrows nothing down. Lots go by their cure quarter.",
    )
    from_day = _day("From")
    to_day = _day("To, the day included")

    def validate(self, attrs: Any) -> Any:
        wrong: dict[str, list[str]] = {}
        names = ("from_day", "to_day") if attrs["dates"] else ("dates",)
        if attrs["dates"] or attrs["from_day"] or attrs["to_day"]:
            missing = [name for name in names if not attrs[name]]
            wrong = {name: ["Say the whole period: of what, from and to."] for name in missing}
        if attrs["from_day"] and attrs["to_day"] and attrs["to_day"] < attrs["from_day"]:
            wrong["to_day"] = ["It ends before it begins."]
        if not (attrs["gear_models"] or attrs["ranges"] or attrs["lots"] or attrs["dates"] == Dates.HERE):
            wrong["ranges"] = ["Say what it is about: models, serials, lots, or when it was here."]
        if wrong:
            raise serializers.ValidationError(wrong)
        return attrs


class WithdrawIn(Shape):
    reason = serializers.CharField(max_length=300, label="Why it is withdrawn")


class LookOut(serializers.ModelSerializer[Look]):
    percent = serializers.IntegerField()

    class Meta:
        model = Look
        fields = ["percent", "done_at"]


class NamedLotOut(serializers.Serializer[Any]):
    part = serializers.CharField(help_text="The part's number.")
    lot = serializers.CharField(help_text="A lot or a range of lots.")


class NoticeOut(serializers.ModelSerializer[Notice]):
    models: Any = serializers.SlugRelatedField(
        slug_field="uid", many=True, read_only=True, source="gear_models"
    )
    ranges = serializers.ListField(child=serializers.CharField())
    lots = NamedLotOut(many=True)
    by = uid_of()
    look = LookOut()
    withdrawn_at = serializers.DateTimeField(source="withdrawn.at", default=None, allow_null=True)
    withdrawn_why = serializers.CharField(source="withdrawn.reason", default="")

    class Meta:
        model = Notice
        fields = [
            "uid", "title", "source", "words", "models", "ranges", "lots", "dates", "from_day", "to_day", "at", "by", "look",
            "withdrawn_at", "withdrawn_why",
        ]  # fmt: skip
