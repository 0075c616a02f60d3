"""What is seen of a thing that was found."""

from rest_framework import serializers

from shop.search.models import Findable


class FoundOut(serializers.ModelSerializer[Findable]):
    address = serializers.CharField(help_text="The page of the thing, or the page where it stands.")

    class Meta:
        model = Findable
        fields = ["subject", "kind", "number", "title", "note", "address"]
