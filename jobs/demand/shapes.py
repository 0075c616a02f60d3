"""What is asked and seen of the need ahead; all counts are pieces of the part unless they say packs or weeks."""

from typing import Any

from rest_framework import serializers

from jobs.demand.rules import LEVELS, USUAL
from shop.api.shapes import Shape


class LevelIn(Shape):
    level = serializers.ChoiceField(
        choices=[(each, f"{each} %") for each in LEVELS],
        required=False,
        default=USUAL,
        initial=USUAL,
        label="Service level",
        help_text="The chance that the store has enough until the order after this one is here.",
    )


class SpanOut(serializers.Serializer[Any]):
    """How many of those who had not come before came in a stretch of weeks around the day due."""

    weeks = serializers.CharField(source="words")
    prior = serializers.IntegerField(help_text="Of ten customers of the prior, which is our own choice.")
    asked = serializers.IntegerField(help_text="Of this workshop's own past.")
    came = serializers.IntegerField()
    percent = serializers.FloatField(help_text="(prior + came) of (10 + asked).")


class PastOut(serializers.Serializer[Any]):
    spans = SpanOut(many=True)
    others = serializers.IntegerField(help_text="Jobs that no clock foretold.")
    weeks = serializers.IntegerField(help_text="In so many weeks.")
    without_history = serializers.IntegerField(help_text="Clocks that are not counted: nothing says when.")
    without_plan = serializers.IntegerField(help_text="Clocks that are not counted: no plan satisfies them.")


class ProposalOut(serializers.Serializer[Any]):
    weeks = serializers.IntegerField(help_text="Until the order after this one is here.")
    expected = serializers.FloatField(help_text="Expected to be needed in these weeks.")
    up_to = serializers.IntegerField(help_text="Enough for them with the chosen chance.")
    usable = serializers.IntegerField(help_text="In life for them: in store and on its way.")
    expires = serializers.FloatField(help_text="Expected to expire unused in them.")
    used_in_life = serializers.IntegerField(
        allow_null=True,
        help_text="New pieces used in life with that chance; null where none is wanted or life has no end.",
    )
    wanted = serializers.IntegerField()
    packs = serializers.IntegerField()
    pieces = serializers.IntegerField()
    capped = serializers.BooleanField(help_text="Fewer than wanted, because more would expire.")


class AheadOut(serializers.Serializer[Any]):
    part = serializers.UUIDField(source="part.uid")
    number = serializers.CharField(source="part.number")
    unit = serializers.CharField(source="part.unit", help_text="What all quantities of it count.")
    waiting = serializers.IntegerField(source="need.waiting", help_text="Asked for by open jobs.")
    year = serializers.FloatField(help_text="Expected to be needed within a year.")
    in_life = serializers.IntegerField(
        help_text="In life and not in doubt, those in unopened kits included; what open jobs need is in `waiting`."
    )
    on_way = serializers.IntegerField(help_text="Ordered and not here yet.")
    undated = serializers.IntegerField(help_text="Of them without a day on which they should come.")
    on_draft = serializers.IntegerField()
    offer = serializers.UUIDField(source="offer.uid", allow_null=True, default=None)
    supplier = serializers.UUIDField(source="offer.supplier.uid", allow_null=True, default=None)
    to_enter = serializers.CharField(allow_blank=True, help_text="What keeps an order from being proposed.")
    proposal = ProposalOut(allow_null=True)


class OutlookOut(serializers.Serializer[Any]):
    """The need ahead of every part that will be needed, by number."""

    day = serializers.DateField()
    level = serializers.IntegerField(help_text="Per cent.")
    past = PastOut()
    unknown = serializers.ListField(
        child=serializers.CharField(), help_text="Parts that plans renew and the store has not."
    )
    parts = AheadOut(many=True, source="rows")


class WeekOut(serializers.Serializer[Any]):
    begins = serializers.DateField()
    need = serializers.FloatField(help_text="Expected to be needed.")
    arrives = serializers.IntegerField()
    left = serializers.FloatField(help_text="Then expected to be left in life, without what is proposed.")


class OneAheadOut(AheadOut):
    """The need ahead of one part, week by week."""

    weeks = WeekOut(many=True)
