"""What is sent and seen of doubts and their answers."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from jobs.bench.models import Attempt
from jobs.notices.models import Affected, Answer, Doubt
from jobs.notices.reads import Standing, standings
from jobs.notices.rules import SAID, About, Became, subject_errors
from jobs.worksheet.models import StepDone
from shop.api.shapes import RowField, Shape, uid_of
from shop.catalogue.models import PlanVersion
from shop.instruments.models import Instrument
from shop.staff.models import Person
from shop.stock.models import Lot

# What may be doubted, and where it is found.
ROWS: dict[str, Any] = {
    About.VERDICT: Attempt.objects.select_related("round__job__plan_version"),
    About.STEP: StepDone.objects.select_related("round__job__plan_version"),
    About.INSTRUMENT: Instrument.objects.all(),
    About.PERSON: Person.objects.all(),
    About.LOT: Lot.objects.select_related("part"),
    About.PLAN: PlanVersion.objects.select_related("model"),
}


def _row(about: About) -> Any:
    return RowField(queryset=ROWS[about], required=False, allow_null=True, default=None)


def _day(label: str) -> serializers.DateField:
    return serializers.DateField(required=False, allow_null=True, default=None, label=label)


class DoubtIn(Shape):
    """Exactly one of the rows; the period where an instrument or a person is doubted."""

    attempt = _row(About.VERDICT)
    step = _row(About.STEP)
    instrument = _row(About.INSTRUMENT)
    person = _row(About.PERSON)
    lot = _row(About.LOT)
    plan_version = _row(About.PLAN)
    from_day = _day("From")
    to_day = _day("To, the day included")
    why = serializers.CharField(
        max_length=300,
        label="Why it is doubted",
        help_text="A note on gear, which stays in the record: no person's name.",
    )

    def validate(self, attrs: Any) -> Any:
        given = [about for about in About if attrs[about]]
        if wrong := subject_errors(given, attrs["from_day"], attrs["to_day"]):
            raise serializers.ValidationError({name: [said] for name, said in wrong.items()})
        days = {name: attrs[name] for name in ("from_day", "to_day")}
        return {"about": given[0], "row": attrs[given[0]], "why": attrs["why"], **days}


def _words(label: str) -> serializers.CharField:
    return serializers.CharField(max_length=500, label=label, style={"kind": "textarea"})


class AnswerIn(Shape):
    became = serializers.ChoiceField(
        choices=[(each.value, SAID[each]) for each in Became],
        label="What became of it",
        style={"kind": "radio"},
    )
    words = _words("In words: what was looked at or done, or how they were told")


class CloseIn(Shape):
    words = _words("In words: what was looked at")


class AnswerOut(serializers.ModelSerializer[Answer]):
    affected = uid_of(allow_null=True)
    doubt = uid_of(allow_null=True)
    by = uid_of()

    class Meta:
        model = Answer
        fields = ["uid", "affected", "doubt", "became", "words", "at", "by"]


class StandingOut(serializers.Serializer[Standing]):
    """A job that a doubt touches; `letter` is the state of the letter to its owner, empty when none was written."""

    uid = serializers.UUIDField(source="affected.uid")
    job = serializers.UUIDField(source="job.uid")
    item = serializers.UUIDField(source="job.item.uid")
    item_number = serializers.CharField(source="job.item.label")
    owner = serializers.UUIDField(source="job.item.owner.uid")
    leg = serializers.CharField(source="job.leg")
    here = serializers.BooleanField()
    letter = serializers.CharField(source="letter.state", default="")
    answer = AnswerOut(allow_null=True)


class DoubtOut(serializers.ModelSerializer[Doubt]):
    attempt = uid_of(allow_null=True)
    step = uid_of(allow_null=True)
    instrument = uid_of(allow_null=True)
    person = uid_of(allow_null=True)
    lot = uid_of(allow_null=True)
    plan_version = uid_of(allow_null=True)
    by = uid_of()
    is_open = serializers.BooleanField()
    touched = serializers.IntegerField(help_text="How many jobs it touches.")
    answered = serializers.IntegerField(help_text="For how many of them it is answered.")

    class Meta:
        model = Doubt
        fields = [
            "uid",
            "about",
            *[about.value for about in About],
            "from_day",
            "to_day",
            "why",
            "at",
            "by",
            "is_open",
            "touched",
            "answered",
        ]


class OneDoubtOut(DoubtOut):
    """A doubt with every job that it touches."""

    affected = serializers.SerializerMethodField()
    answer = AnswerOut(allow_null=True, default=None, help_text="Where it touched no job.")

    class Meta(DoubtOut.Meta):
        fields = [*DoubtOut.Meta.fields, "affected", "answer"]

    @extend_schema_field(StandingOut(many=True))
    def get_affected(self, row: Doubt) -> Any:
        rows: Any = standings(Affected.objects.filter(doubt=row))
        return StandingOut(rows, many=True).data
