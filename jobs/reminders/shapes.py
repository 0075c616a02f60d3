"""When letters go, on which days, and what they brought."""

from datetime import date
from typing import Any

from rest_framework import serializers

from jobs.reminders.rules import read_rungs
from shop.api.shapes import Shape, several
from shop.workshop.models import Workshop
from shop.workshop.rules import Language

WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
_MAY_LACK: dict[str, Any] = {"required": False, "default": list}
_MAY_BE_EMPTY = _MAY_LACK | {"allow_blank": True}


class Listed(serializers.CharField):
    """A text that is read into a list; an empty one is an empty list."""

    def run_validation(self, data: Any = serializers.empty) -> Any:
        return [] if data == "" else super().run_validation(data)


class RungsField(Listed):
    """Days from the due day, as text: -56, -14, 0, +30."""

    def to_internal_value(self, data: Any) -> Any:
        found = read_rungs(super().to_internal_value(data))
        if found is None:
            raise serializers.ValidationError("Write whole numbers of days, such as -56, -14, 0, +30.")
        return found

    def to_representation(self, value: Any) -> str:
        return ", ".join(f"{days:+d}" if days else "0" for days in value)


class LadderIn(Shape):
    rungs = RungsField(
        max_length=80,
        **_MAY_BE_EMPTY,
        label="Days",
        help_text="From the due day, minus before it: -56, -14, 0, +30. At most six. Empty: as all others, or as shipped.",
        style={"unit": "days", "autocomplete": "off"},
    )


class LadderOut(serializers.Serializer[Any]):
    clock = serializers.CharField()
    title = serializers.CharField()
    rungs = serializers.ListField(child=serializers.IntegerField())
    own = serializers.BooleanField(help_text="Whether the workshop chose these days for this kind of clock.")
    version = serializers.IntegerField()


class LaddersOut(serializers.Serializer[Any]):
    ladders = several(LadderOut)


class DaysField(Listed):
    """Single days, one a line, such as 2027-12-24."""

    def to_internal_value(self, data: Any) -> Any:
        lines, found, wrong = super().to_internal_value(data).split(), [], []
        for line in dict.fromkeys(lines):
            try:
                found.append(date.fromisoformat(line).isoformat())
            except ValueError:
                wrong.append(f"{line[:20]} is no day like 2027-12-24.")
        if len(lines) > 400:
            wrong.append("400 days at most.")
        if wrong:
            raise serializers.ValidationError(wrong)
        return sorted(found)

    def to_representation(self, value: Any) -> str:
        return "\n".join(value)


class WeekdaysField(serializers.MultipleChoiceField):
    """Days of the week; Monday is 0."""

    def to_internal_value(self, data: Any) -> Any:
        return sorted(super().to_internal_value(data))


class LetterTimesIn(Shape):
    language = serializers.ChoiceField(
        choices=[(each.value, each.label) for each in Language],
        label="Language of letters",
        help_text="To customers of whom no other language is said from now on.",
    )
    closed_weekdays = WeekdaysField(
        choices=list(enumerate(WEEKDAYS)), **_MAY_LACK, label="Closed each week on"
    )
    closed_days = DaysField(
        max_length=6000,
        **_MAY_BE_EMPTY,
        help_text="Other days on which no reminder is written, one a line, like 2027-12-24.",
        style={"kind": "textarea"},
    )
    letters_from = serializers.IntegerField(
        min_value=0, max_value=21, label="Letters go from", help_text="The hour, in your own zone."
    )
    letters_until = serializers.IntegerField(min_value=3, max_value=24, label="To before the hour")
    letters_a_day = serializers.IntegerField(
        min_value=1,
        max_value=1_000_000,
        required=False,
        allow_null=True,
        default=None,
        label="Reminders a day at most",
        help_text="Empty: as many as there are. What is left waits for the next day; what was due longest goes first.",
        style={"unit": "letters"},
    )


class LetterTimesOut(serializers.ModelSerializer[Workshop]):
    class Meta:
        model = Workshop
        fields = [
            "language", "closed_weekdays", "closed_days", "letters_from", "letters_until", "letters_a_day", "version",
        ]  # fmt: skip


class RungOut(serializers.Serializer[Any]):
    rung = serializers.IntegerField(help_text="Days from the due day.")
    letters = serializers.IntegerField(help_text="Letters that went out within a year.")
    came = serializers.IntegerField(help_text="After so many of them gear of theirs came within 60 days.")


class NextLettersOut(serializers.Serializer[Any]):
    day = serializers.DateField(allow_null=True)
    letters = serializers.IntegerField()
    left = serializers.IntegerField(help_text="So many more customers wait for a later day.")
    languages = serializers.DictField(child=serializers.IntegerField())
    rungs = serializers.DictField(child=serializers.IntegerField(), help_text="Clocks by rung.")
    customers = serializers.SerializerMethodField(help_text="The first 200 of those who are written to.")

    def get_customers(self, found: Any) -> list[str]:
        return [customer.label for customer, _ in found.shown]


class AheadAndBrought(serializers.Serializer[Any]):
    ahead = NextLettersOut()
    brought = several(RungOut)
