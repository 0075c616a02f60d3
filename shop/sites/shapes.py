"""What is sent and seen of levels at sites."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.stock.shapes import level


class SiteLevelIn(Shape):
    """Both levels empty: the part is not watched there."""

    site = serializers.CharField(max_length=60)
    minimum = level("Bring or order when no more are there than")
    up_to = level("Bring or order up to")


class AtSiteOut(serializers.Serializer[Any]):
    """How many pieces of a part may be used at a site."""

    site = serializers.CharField()
    there = serializers.IntegerField(help_text="In life and not in doubt, those in unopened kits included.")
    minimum = serializers.IntegerField(allow_null=True)
    up_to = serializers.IntegerField(allow_null=True)


class AtSitesOut(serializers.Serializer[Any]):
    part = serializers.UUIDField(source="part.uid")
    version = serializers.IntegerField(source="part.version", help_text="Of the part.")
    sites = AtSiteOut(many=True)


class BroughtOut(serializers.Serializer[Any]):
    site = serializers.CharField()
    pieces = serializers.IntegerField()


class LackingOut(serializers.Serializer[Any]):
    """A part of which a site has no more than its minimum there."""

    part = serializers.UUIDField(source="part.uid")
    number = serializers.CharField(source="part.number")
    unit: Any = serializers.CharField(source="part.unit", help_text="Of each number here.")
    site = serializers.CharField(source="shortfall.at.site")
    there = serializers.IntegerField(source="shortfall.at.there")
    minimum = serializers.IntegerField(source="shortfall.at.minimum")
    up_to = serializers.IntegerField(source="shortfall.at.up_to")
    bring = BroughtOut(many=True, source="shortfall.brought", help_text="From which sites how many.")
    missing = serializers.IntegerField(
        source="shortfall.missing", help_text="What no site can give: to be ordered."
    )


class LackingList(serializers.Serializer[Any]):
    day = serializers.DateField()
    parts = LackingOut(many=True)
