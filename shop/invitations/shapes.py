"""What people type to invite somebody, and to choose their words by the link of a letter."""

from typing import Any

from rest_framework import serializers

from shop.api.shapes import AddressField, Shape
from shop.staff.rules import Role


def secret_field(label: str, autocomplete: str, **more: Any) -> serializers.CharField:
    """A field whose text is never shown."""
    style = {"kind": "password", "autocomplete": autocomplete}
    return serializers.CharField(label=label, max_length=128, trim_whitespace=False, style=style, **more)


def new_password() -> serializers.CharField:
    """A password that is being chosen."""
    return secret_field(
        "New password", "new-password", help_text="At least 15 characters; spaces are welcome."
    )


def new_secret() -> serializers.CharField:
    """A signing secret that is being chosen."""
    said = "Typed at each sign-off, with others looking on; at least 8 characters and not the password."
    return secret_field("New signing secret", "off", min_length=8, help_text=said)


class InviteIn(Shape):
    name = serializers.CharField(max_length=120)
    email = AddressField(max_length=254, help_text="They sign in with it, and the invitation goes there.")
    roles = serializers.MultipleChoiceField(choices=[(r.value, r.value) for r in Role], allow_empty=False)


class ForgottenIn(Shape):
    email = AddressField(label="E-mail", max_length=254, style={"autocomplete": "username"})


class ChooseIn(Shape):
    password = new_password()


class ChooseBothIn(ChooseIn):
    signing_secret = new_secret()
