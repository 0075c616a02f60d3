"""What people send and see of their own words, sessions and tokens."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.invitations.shapes import new_password, new_secret, secret_field
from shop.staff.models import Token
from shop.staff.rules import Can


class PasswordIn(Shape):
    password = secret_field("Present password", "current-password")
    new_password = new_password()


class SigningSecretIn(Shape):
    password = secret_field("Password", "current-password")
    signing_secret = new_secret()


class OwnSessionOut(serializers.Serializer[Any]):
    ip = serializers.CharField()
    user_agent = serializers.CharField()
    since = serializers.DateTimeField()
    present = serializers.BooleanField(help_text="Whether it is the one that asks.")


class SessionsOut(serializers.Serializer[Any]):
    sessions = OwnSessionOut(many=True)


class TokenIn(Shape):
    label = serializers.CharField(  # type: ignore[assignment]  # the field hides DRF's own
        max_length=80, help_text="What will use it."
    )
    scopes = serializers.MultipleChoiceField(
        choices=[(c.value, c.value) for c in Can],
        allow_empty=False,
        help_text="What it may do of what you may do.",
    )
    days = serializers.IntegerField(
        min_value=1, max_value=366, initial=90, help_text="How long it lives.", style={"unit": "days"}
    )


class TokenOut(serializers.ModelSerializer[Token]):
    expires = serializers.DateTimeField(source="expiry")

    class Meta:
        model = Token
        fields = ["uid", "label", "scopes", "created", "expires"]


class NewTokenOut(serializers.Serializer[Any]):
    token = TokenOut()
    secret = serializers.CharField(help_text="Shown this once; only its hash is kept.")
