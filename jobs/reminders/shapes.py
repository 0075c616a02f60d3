"""What is seen of a letter."""

from rest_framework import serializers

from shop.post.models import Letter


class LetterOut(serializers.ModelSerializer[Letter]):
    class Meta:
        model = Letter
        fields = [
            "uid",
            "recipient",
            "purpose",
            "run",
            "subject",
            "state",
            "attempts",
            "written_at",
            "sent_at",
        ]
