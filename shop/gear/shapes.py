"""What is sent and seen of an item."""

from rest_framework import serializers

from shop.api.shapes import Shape, uid_of
from shop.catalogue.models import Model
from shop.catalogue.shapes import ModelOut
from shop.customers.models import Customer
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
