"""What is sent and seen of parts and lots."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import MoneyField, RowField, Shape, uid_of
from shop.gases.rules import Gas
from shop.lives.rules import LIFE_RULES, rule_words
from shop.stock.models import Bin, Content, Lot, Movement, Part, Stored
from shop.stock.rules import BY_HAND, FIRST_SITE, Verb
from shop.workshop.rules import Unit, values

UNITS = {Unit.PIECE: "pieces", Unit.GRAM: "grams (g)", Unit.MILLILITRE: "millilitres (mL)"}


def level(label: str) -> Any:
    """A level of a part, which may be left open."""
    return serializers.IntegerField(
        min_value=0,
        max_value=100_000,
        required=False,
        allow_null=True,
        default=None,
        label=label,
        style={"unit": "pieces"},
    )


def some_bin(label: str, help_text: str) -> Any:
    return RowField(
        queryset=Bin.objects.all(),
        required=False,
        allow_null=True,
        default=None,
        label=label,
        help_text=help_text,
    )


class BinIn(Shape):
    site = serializers.CharField(max_length=60, initial=FIRST_SITE)
    label: Any = serializers.CharField(max_length=40, help_text="As it stands on the bin, for example A 3.")


class PartIn(Shape):
    number = serializers.CharField(max_length=40, help_text="The maker's or the workshop's part number.")
    name = serializers.CharField(max_length=120)
    maker = serializers.CharField(
        max_length=80, required=False, allow_blank=True, default="", help_text="Who makes it, as on the bag."
    )
    unit = serializers.ChoiceField(
        choices=[(unit.value, said) for unit, said in UNITS.items()],
        label="Counted in",
        help_text="Whole numbers of it, so the smallest amount that is ever taken. It stays once a lot was received.",
    )
    material = serializers.CharField(max_length=40, required=False, allow_blank=True, default="")
    life_months = serializers.IntegerField(
        min_value=1,
        max_value=600,
        required=False,
        allow_null=True,
        default=None,
        label="Storage life",
        style={"unit": "months"},
        help_text="From the end of the cure quarter; empty when it is not limited.",
    )
    life_source = serializers.CharField(
        max_length=200, required=False, allow_blank=True, default="", label="Rule for the storage life"
    )
    life_rule = serializers.ChoiceField(
        choices=rule_words(LIFE_RULES.values()),
        required=False,
        allow_blank=True,
        default="",
        label="Or a published rule",
        help_text="It sets storage life and source; the maker's own date still counts if it is sooner.",
    )


class PartChangeIn(Shape):
    """Everything that may change of a part; what is left out becomes empty, but for name, maker and unit."""

    name = serializers.CharField(
        max_length=120, required=False, allow_null=True, default=None, help_text="Left out: as it was."
    )
    maker = serializers.CharField(
        max_length=80,
        required=False,
        allow_null=True,
        allow_blank=True,
        default=None,
        help_text="Who makes it, as on the bag.",
    )
    size = serializers.CharField(
        max_length=40,
        required=False,
        allow_blank=True,
        default="",
        help_text="As text, for example AS568-012 or 6 x 1.5 mm. A size alone makes no part fit.",
    )
    hardness = serializers.CharField(
        max_length=20, required=False, allow_blank=True, default="", style={"unit": "Shore A"}
    )
    unit = serializers.ChoiceField(
        choices=[(unit.value, said) for unit, said in UNITS.items()],
        required=False,
        allow_null=True,
        default=None,
        label="Counted in",
        help_text="Left out: as it was. It stays once a lot was received; until then levels and packs are read in the new one.",
    )
    minimum = level("Order when no more are left than")
    up_to = level("Order up to")


class FitnessIn(Shape):
    """Empty where nothing is stated: then the part goes into gear for air only."""

    fit_for = serializers.MultipleChoiceField(
        choices=[(gas, gas) for gas in values(Gas)],
        required=False,
        default=set,
        label="Stated to be fit for",
        help_text="Only what is stated counts, each by itself; a lubricant is a part too.",
    )
    fit_source = serializers.CharField(
        max_length=200,
        required=False,
        allow_blank=True,
        default="",
        label="Where that is stated",
        help_text="For example the maker's sheet with its edition.",
    )


class ShareOut(serializers.Serializer[Any]):
    """A job that still needs pieces of a part, or a booking whose gear will."""

    job = serializers.UUIDField(source="claim.uid", help_text="The open job, or the booking.")
    label: Any = serializers.CharField(source="claim.label")
    promised_on = serializers.DateField(source="claim.by_day")
    pieces = serializers.IntegerField(source="claim.pieces")
    there = serializers.IntegerField(help_text="How many are there once the earlier jobs have theirs.")


class LevelOut(serializers.Serializer[Any]):
    """How many pieces of a part are there on a day, and which open jobs still need some, by promised day."""

    day = serializers.DateField()
    unit = serializers.CharField(help_text="Of each number here.")
    on_hand = serializers.IntegerField(source="level.on_hand")
    in_life = serializers.IntegerField(
        source="level.in_life", help_text="In life and not in doubt, those in unopened kits included."
    )
    spoken_for = serializers.IntegerField(source="level.spoken_for")
    free = serializers.IntegerField(source="level.free", help_text="Below zero: so many are short.")
    jobs = ShareOut(many=True, source="shares")


class ReceiveIn(Shape):
    number = serializers.CharField(max_length=60, label="Lot number")
    cured = serializers.CharField(
        max_length=10,
        required=False,
        allow_blank=True,
        default="",
        label="Cure quarter",
        help_text="As on the bag: 2Q24 or 3/94. Empty only for a part whose life is not limited.",
    )
    use_by = serializers.DateField(
        required=False,
        allow_null=True,
        default=None,
        label="Maker's own last day",
        help_text="As on the bag, if it has one; it counts where it is sooner than the rule.",
    )
    quantity = serializers.IntegerField(min_value=1, max_value=100_000, style={"unit": "pieces"})
    bin = some_bin("Into which bin", "Left open: where most of this part lies.")
    cost = MoneyField(
        required=False,
        allow_null=True,
        default=None,
        label="What all of it cost",
        help_text="Left open where it is not known: then it is counted apart.",
    )
    effective_on = serializers.DateField(
        required=False,
        allow_null=True,
        default=None,
        label="Counts from",
        help_text="Left open: from today. Say the day on which it came, if that was earlier.",
    )


class ExtensionIn(Shape):
    subject = serializers.CharField(
        max_length=200,
        label="What the inspection saw",
        help_text="As the rule asks: no cracks, no sticking, no change of shape. No names of people.",
    )


class MovementIn(Shape):
    verb = serializers.ChoiceField(
        choices=[(verb.value, said) for verb, said in BY_HAND.items()],
        required=False,
        default=Verb.TAKE.value,
        initial=Verb.TAKE.value,
        label="What is done",
    )
    quantity = serializers.IntegerField(
        min_value=0,
        max_value=100_000,
        style={"unit": "pieces"},
        help_text="For a count: how many are there, none included.",
    )
    subject = serializers.CharField(max_length=70, label="What for, or why", help_text="No names of people.")
    bin = some_bin("In which bin", "Left open: the one with most of this lot.")
    to = some_bin("For a move: into which bin", "It goes there whole or not at all.")
    in_spite = serializers.BooleanField(
        required=False,
        default=False,
        label="Take them though open jobs still need them",
        help_text="The page of the part says which.",
    )


class ContentIn(Shape):
    part = RowField(queryset=Part.objects.all(), label="Part in the kit")
    count = serializers.IntegerField(
        min_value=1,
        max_value=999,
        label="How much of it",
        help_text="In the unit that this part is counted in.",
    )


class OpenKitIn(Shape):
    quantity = serializers.IntegerField(
        min_value=1, max_value=1000, initial=1, label="How many kits", style={"unit": "kits"}
    )


class ContentOut(serializers.ModelSerializer[Content]):
    part = serializers.CharField(source="part.number")
    unit = serializers.CharField(source="part.unit")

    class Meta:
        model = Content
        fields = ["part", "count", "unit"]


class BinOut(serializers.ModelSerializer[Bin]):
    code = serializers.CharField(read_only=True, help_text="What its label says to a scanner.")

    class Meta:
        model = Bin
        fields = ["uid", "code", "site", "label"]


class StoredOut(serializers.ModelSerializer[Stored]):
    bin = BinOut()

    class Meta:
        model = Stored
        fields = ["bin", "on_hand"]


class LotOut(serializers.ModelSerializer[Lot]):
    part = serializers.CharField(source="part.number")
    unit = serializers.CharField(source="part.unit", help_text="What it is counted in.")
    code = serializers.CharField(read_only=True, help_text="What its label says to a scanner.")
    stored = StoredOut(many=True, source="places", help_text="Where its pieces lie.")

    class Meta:
        model = Lot
        fields = [
            "uid",
            "code",
            "part",
            "number",
            "cured",
            "use_by",
            "extended",
            "good_to",
            "on_hand",
            "unit",
            "stored",
        ]


class MovementOut(serializers.ModelSerializer[Movement]):
    bin = uid_of()
    unit = serializers.CharField(source="lot.part.unit")
    cost = MoneyField(
        read_only=True, allow_null=True, help_text="Of all pieces received; null where it is not known."
    )

    class Meta:
        model = Movement
        fields = ["verb", "quantity", "unit", "bin", "subject", "effective_on", "cost", "at", "by"]


class PartOut(serializers.ModelSerializer[Part]):
    fitness = serializers.CharField(read_only=True)
    lots = LotOut(many=True)
    contents = ContentOut(many=True)

    class Meta:
        model = Part
        fields = [
            "uid",
            "number",
            "name",
            "maker",
            "unit",
            "material",
            "life_months",
            "life_source",
            "life_rule",
            "size",
            "hardness",
            "minimum",
            "up_to",
            "fit_for",
            "fit_source",
            "fitness",
            "version",
            "contents",
            "lots",
        ]
