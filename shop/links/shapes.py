"""What is seen of private links; never the address itself."""

from rest_framework import serializers

from shop.links.models import Link


class LinkOut(serializers.ModelSerializer[Link]):
    class Meta:
        model = Link
        fields = ["purpose", "about", "made_at", "ends_at", "revoked_at"]


class EndedOut(serializers.Serializer[int]):
    ended = serializers.IntegerField(source="*", help_text="How many links ended.")
