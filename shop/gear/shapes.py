"""What is sent and seen of an item."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape, uid_of
from shop.catalogue.models import Model
from shop.catalogue.shapes import ModelOut
from shop.customers.models import Customer
from shop.files.models import Photograph
from shop.files.reads import NotAPhotograph, Picture, re_encoded
from shop.gear.models import Identifier, Item


class ItemPageIn(Shape):
    model = serializers.SlugRelatedField(slug_field="uid", queryset=Model.objects.all())
    serial = serializers.CharField(
        max_length=80, required=False, allow_blank=True, default="", help_text="Empty when it cannot be read."
    )
    owners_mark = serializers.CharField(
        max_length=80, required=False, allow_blank=True, default="", label="Owner's mark"
    )


class ItemIn(ItemPageIn):
    owner = serializers.SlugRelatedField(slug_field="uid", queryset=Customer.objects.all())


class IdentifierOut(serializers.ModelSerializer[Identifier]):
    class Meta:
        model = Identifier
        fields = ["kind", "value", "state"]


class ItemOut(serializers.ModelSerializer[Item]):
    number = serializers.CharField(source="label")
    model = ModelOut()
    owner = uid_of()
    identifiers = IdentifierOut(many=True)

    class Meta:
        model = Item
        fields = ["uid", "number", "model", "owner", "identifiers", "version"]


class PhotographIn(Shape):
    photograph = serializers.FileField(
        help_text="A JPEG, PNG or WebP of at most 10 MB. Where it was taken is not kept.",
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
