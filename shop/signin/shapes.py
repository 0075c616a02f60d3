"""What people type to sign in and to be let in again."""

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.invitations.shapes import secret_field


class SignInIn(Shape):
    """The fields of the sign-in page, as its form draws them."""

    username = serializers.EmailField(label="E-mail", style={"autocomplete": "username"})
    password = secret_field("Password", "current-password")


class CodeIn(Shape):
    code = serializers.CharField(
        label="Code",
        max_length=12,
        help_text="Six digits of your app; or one of your recovery codes.",
        style={"autocomplete": "one-time-code", "inputmode": "numeric"},
    )


class AppCodeIn(Shape):
    code = serializers.CharField(
        label="Code",
        max_length=12,
        help_text="The six digits that your app shows now.",
        style={"autocomplete": "one-time-code", "inputmode": "numeric"},
    )


class ConfirmIn(Shape):
    password = secret_field("Password", "current-password")
