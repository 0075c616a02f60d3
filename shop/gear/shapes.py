"""What is sent and seen of an item."""

from datetime import date
from decimal import Decimal
from typing import Any

from rest_framework import serializers

from shop.api.shapes import NumberedField, RowField, Shape, UploadField, uid_of
from shop.catalogue.models import Model
from shop.catalogue.shapes import ModelOut
from shop.customers.models import Customer
from shop.files.models import Photograph, Spot
from shop.files.reads import NotAPhotograph, Picture, re_encoded
from shop.files.rules import PHOTOGRAPH_HELP, SpotShape
from shop.gases.shapes import ShareField
from shop.gear.models import FACTS, Identifier, Item
from shop.gear.reads import with_equal_serial
from shop.gear.rules import Standing
from shop.intervals.rules import Material, Use
from shop.workshop.reads import today
from shop.workshop.rules import pairs, values

FIRST = date(1900, 1, 1)


class ItemPageIn(Shape):
    model = RowField(queryset=Model.objects.all())
    serial = serializers.CharField(
        max_length=80, required=False, allow_blank=True, default="", help_text="Empty when it cannot be read."
    )
    owners_mark = serializers.CharField(
        max_length=80, required=False, allow_blank=True, default="", label="Owner's mark"
    )


class ItemIn(ItemPageIn):
    owner = RowField(queryset=Customer.objects.all())


class IdentifierOut(serializers.ModelSerializer[Identifier]):
    class Meta:
        model = Identifier
        fields = ["uid", "kind", "value", "state"]


class ItemOut(serializers.ModelSerializer[Item]):
    number = serializers.CharField(source="label")
    model = ModelOut()
    owner = uid_of()
    identifiers = IdentifierOut(many=True)
    oxygen = ShareField(allow_null=True)
    merged_into = uid_of(allow_null=True)
    split_from = uid_of(allow_null=True)

    class Meta:
        model = Item
        fields = ["uid", "number", "model", "owner", "identifiers", "oxygen", *FACTS, "standing", "merged_into", "split_from", "version"]  # fmt: skip


class OneItemOut(ItemOut):
    """One item, with a warning that blocks nothing: other items of the model on which the same serial was read."""

    alike = serializers.SerializerMethodField()

    class Meta(ItemOut.Meta):
        fields = [*ItemOut.Meta.fields, "alike"]

    def get_alike(self, item: Item) -> list[str]:
        return [other.label for other in with_equal_serial(item).order_by("number")]


class IdentifierIn(Shape):
    kind = serializers.ChoiceField(choices=[Identifier.SERIAL, Identifier.OWNERS_MARK], initial="serial")
    value = serializers.CharField(
        max_length=80,
        required=False,
        allow_blank=True,
        default="",
        label="As it reads",
        help_text="Empty when it cannot be read.",
    )


class StateIn(Shape):
    state = serializers.ChoiceField(
        choices=[Identifier.READ, Identifier.UNREADABLE, Identifier.DISPUTED], style={"kind": "radio"}
    )


class GasIn(Shape):
    oxygen = ShareField(
        allow_null=True,
        label="Most oxygen in the gas it is used with",
        help_text="As the owner says; 100 for pure oxygen. Empty: nobody has said, and the plan decides.",
    )


class FactsIn(Shape):
    specification = serializers.CharField(
        max_length=20,
        required=False,
        allow_blank=True,
        default="",
        help_text="Of a cylinder, as it is stamped: 3AL, 3AA, EN 1964. Empty: not known, and rules count as if it were theirs.",
    )
    material = serializers.ChoiceField(
        choices=pairs(Material),
        required=False,
        allow_blank=True,
        default="",
        label="Made of",
        help_text="Of a cylinder. Empty: not known, likewise.",
    )
    use = serializers.ChoiceField(
        choices=pairs(Use),
        required=False,
        allow_blank=True,
        default="",
        label="Used for",
        help_text="Empty counts as scuba.",
    )
    star = serializers.BooleanField(default=False, label="A star stands after its test date")
    made_on = serializers.DateField(
        required=False,
        allow_null=True,
        default=None,
        label="Manufactured on",
        help_text="The first of the month where no day is marked.",
    )
    in_service_on = serializers.DateField(
        required=False, allow_null=True, default=None, label="In service since"
    )

    def validate(self, data: Any) -> Any:
        """Days that have been, in their order."""
        wrong = {
            name: ["Give a day from 1900 to today."]
            for name in ("made_on", "in_service_on")
            if data[name] and not FIRST <= data[name] <= today()
        }
        if (
            not wrong
            and data["made_on"]
            and data["in_service_on"]
            and data["in_service_on"] < data["made_on"]
        ):
            wrong["in_service_on"] = ["It was in service before it was made."]
        if wrong:
            raise serializers.ValidationError(wrong)
        return data


class StandingIn(Shape):
    standing = serializers.ChoiceField(
        choices=[(each, each) for each in values(Standing) if each != Standing.BEYOND_REPAIR],
        style={"kind": "radio"},
        label="What became of it",
    )


class OwnerIn(Shape):
    owner = NumberedField(
        queryset=Customer.objects.select_related("merged_into"),
        label="New owner",
        help_text="The customer's number, such as K-0012.",
    )


class MergeCustomerIn(Shape):
    into = NumberedField(
        queryset=Customer.objects.select_related("merged_into"),
        label="Customer who is kept",
        help_text="Their number, such as K-0012.",
    )


class MergeItemIn(Shape):
    into = NumberedField(
        queryset=Item.objects.select_related("merged_into"),
        label="Item that is kept",
        help_text="Its number, such as E-00012.",
    )


class SplitIn(Shape):
    identifiers = serializers.ManyRelatedField(
        child_relation=RowField(queryset=Identifier.objects.all()),
        style={"kind": "multi"},
        label="Marks of the second one",
        help_text="They move to the new number; the others stay. It may be none.",
    )


class PhotographIn(Shape):
    photograph = UploadField(
        help_text=f"A JPEG, PNG or WebP of at most 10 MB. Where it was taken is not kept. {PHOTOGRAPH_HELP}",
        style={"attrs": {"accept": "image/*", "capture": "environment"}},
    )
    words = serializers.CharField(
        max_length=200,
        required=False,
        allow_blank=True,
        default="",
        label="What it shows",
        help_text="A note on the gear; no names of people.",
    )

    def validate_photograph(self, file: Any) -> Picture:
        """The picture as it will be kept; here, because no lock may be held while it is decoded."""
        try:
            return re_encoded(file.read())
        except NotAPhotograph as fault:
            raise serializers.ValidationError(str(fault)) from None


class PhotographOut(serializers.ModelSerializer[Photograph]):
    width_px = serializers.IntegerField(source="file.width_px")
    height_px = serializers.IntegerField(source="file.height_px")
    size_bytes = serializers.IntegerField(source="file.size_bytes")
    sha256 = serializers.CharField(source="file.sha256")

    class Meta:
        model = Photograph
        fields = ["uid", "subject", "words", "at", "by", "width_px", "height_px", "size_bytes", "sha256"]


def _share(label: str) -> Any:
    """A share of a side of a picture, from 0 to 1."""
    return serializers.DecimalField(
        max_digits=4, decimal_places=3, min_value=Decimal(0), max_value=Decimal(1), label=label,
        help_text="A press on the picture fills it in: 0 is that edge, 1 the edge across from it.", style={"inputmode": "decimal"},
    )  # fmt: skip


class SpotIn(Shape):
    shape = serializers.ChoiceField(
        choices=[(each.value, each.value) for each in SpotShape], label="Draw", style={"kind": "radio"}
    )
    x = _share("Share of the width, from the left")
    y = _share("Share of the height, from the top")
    words = serializers.CharField(
        max_length=200, label="What is there", help_text="A note on the gear; no names of people."
    )


class SpotOut(serializers.ModelSerializer[Spot]):
    photograph = uid_of()
    x = serializers.FloatField()
    y = serializers.FloatField()

    class Meta:
        model = Spot
        fields = ["uid", "photograph", "shape", "x", "y", "words", "at", "by"]
