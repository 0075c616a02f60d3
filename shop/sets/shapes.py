"""What is sent and seen of a set."""

from rest_framework import serializers

from shop.api.shapes import RowField, Shape, uid_of
from shop.gear.models import GearSet, Item, Member


class SetIn(Shape):
    name = serializers.CharField(max_length=120, help_text="As its owner calls it: her cold-water set.")
    items = RowField(
        queryset=Item.objects.select_related("model"),
        many=True,
        allow_empty=False,
        style={"kind": "multi"},
    )


class SetItemIn(Shape):
    item = RowField(queryset=Item.objects.select_related("model"))


class MemberOut(serializers.ModelSerializer[Member]):
    item = uid_of()

    class Meta:
        model = Member
        fields = ["item", "from_day", "to_day"]


class SetOut(serializers.ModelSerializer[GearSet]):
    owner = uid_of()
    members = MemberOut(many=True)

    class Meta:
        model = GearSet
        fields = ["uid", "name", "owner", "members", "version"]
