"""What is sent at check-in."""

from rest_framework import serializers

from shop.api.shapes import Shape, several
from shop.catalogue.models import PlanVersion
from shop.customers.models import Customer
from shop.gear.models import Item


class LineIn(Shape):
    item = serializers.SlugRelatedField(
        slug_field="uid", queryset=Item.objects.select_related("model").prefetch_related("identifiers")
    )
    plan = serializers.SlugRelatedField(
        slug_field="uid", queryset=PlanVersion.objects.all(), label="Service plan"
    )
    contents = serializers.ChoiceField(choices=["no gas", "under pressure"], label="Gas inside")
    condition = serializers.CharField(
        max_length=1000, required=False, allow_blank=True, default="", label="Condition as seen"
    )
    words = serializers.CharField(
        max_length=1000, required=False, allow_blank=True, default="", label="In the customer's words"
    )


class CheckInPageIn(Shape):
    promised_on = serializers.DateField(label="Promised for")
    lines = several(LineIn, allow_empty=False, max_length=60)


class CheckInIn(CheckInPageIn):
    customer = serializers.SlugRelatedField(slug_field="uid", queryset=Customer.objects.all())
