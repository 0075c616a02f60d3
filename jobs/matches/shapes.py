"""What is sent and seen of what notices match, and of the answers."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from jobs.flow.models import Job
from jobs.matches.models import Answer
from jobs.matches.reads import Call, Progress, progress
from jobs.matches.rules import SAID, Became
from jobs.safety.models import Match, Notice
from jobs.safety.shapes import NoticeOut
from shop.api.shapes import RowField, Shape, uid_of
from shop.customers.models import Customer


def _words(label: str, most: int = 500) -> serializers.CharField:
    return serializers.CharField(max_length=most, label=label, style={"kind": "textarea"})


@extend_schema_field({"type": "string"})
class JobField(RowField):
    """A job by its uid or by the number of its tray."""

    def get_choices(self, cutoff: int | None = None) -> dict[Any, str]:
        """None: a form asks for the number."""
        return {}

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, str) and data.strip().isdecimal() and len(data.strip()) < 10:
            row = Job.objects.filter(number=int(data)).first()
            return row or self.fail("does_not_exist", slug_name="number", value=data)
        return super().to_internal_value(data)


class MatchAnswerIn(Shape):
    """`corrects` is the answer that stands, where there is one; the other stays beside it."""

    became = serializers.ChoiceField(
        choices=[(each.value, SAID[each]) for each in Became],
        label="What became of it",
        style={"kind": "radio"},
    )
    job = JobField(
        what="tray",
        queryset=Job.objects.all(),
        required=False,
        allow_null=True,
        default=None,
        label="Job that put it right",
        help_text="The number of its tray.",
    )
    words = _words("In words: what was looked at or done, or how they were told")
    corrects = RowField(queryset=Answer.objects.all(), required=False, allow_null=True, default=None)


class ToldIn(Shape):
    customer = RowField(queryset=Customer.objects.all())
    words = _words("How and what they were told")


class MatchAnswerOut(serializers.ModelSerializer[Answer]):
    match = uid_of()
    job = uid_of(allow_null=True)
    corrects = uid_of(allow_null=True)
    by = uid_of()

    class Meta:
        model = Answer
        fields = ["uid", "match", "became", "job", "words", "corrects", "at", "by"]


class MatchOut(serializers.ModelSerializer[Match]):
    """`became` is the newest answer's, null where nobody answered; `here` whether the item has an open job."""

    notice = uid_of()
    item = uid_of(allow_null=True)
    item_number = serializers.CharField(source="item.label", default="")
    lot = uid_of(allow_null=True)
    lot_code = serializers.CharField(source="lot.code", default="")
    here = serializers.BooleanField()
    became = serializers.CharField(allow_null=True)
    answers = MatchAnswerOut(many=True)

    class Meta:
        model = Match
        fields = [
            "uid", "notice", "item", "item_number", "lot", "lot_code", "how", "at", "here", "became", "answers",
        ]  # fmt: skip


class ProgressOut(serializers.Serializer[Progress]):
    matched = serializers.IntegerField()
    open = serializers.IntegerField(help_text="Nobody has answered for them.")
    open_here = serializers.IntegerField(help_text="Of these, lots and items with an open job.")
    answered = serializers.DictField(child=serializers.IntegerField())
    letters = serializers.IntegerField(help_text="Letters written to owners.")
    writing = serializers.BooleanField(help_text="Whether more are being written.")


class OneNoticeOut(NoticeOut):
    """A notice and how far it is answered."""

    progress = serializers.SerializerMethodField()

    class Meta(NoticeOut.Meta):
        fields = [*NoticeOut.Meta.fields, "progress"]

    @extend_schema_field(ProgressOut)
    def get_progress(self, row: Notice) -> Any:
        return ProgressOut(progress(row)).data


class CallOut(serializers.Serializer[Call]):
    customer = serializers.UUIDField(source="owner.uid")
    name = serializers.CharField(source="owner.name")
    phone = serializers.CharField(source="owner.phone")
    email = serializers.CharField(source="owner.email")
    why = serializers.CharField(help_text="Why no letter has reached them for sure.")
    items = serializers.SerializerMethodField(help_text="The numbers of their items that wait for an answer.")

    def get_items(self, row: Call) -> list[str]:
        return [match.item.kept.label for match in row.items if match.item]


class CallsOut(serializers.Serializer[Any]):
    """Everybody to telephone, by name."""

    calls = CallOut(many=True)


class ToldOut(serializers.Serializer[Any]):
    answers = MatchAnswerOut(many=True)
