"""What people send and see of people and tokens."""

import json
from typing import Any

from rest_framework import serializers

from shop.api.shapes import AddressField, Shape
from shop.journal.reads import Told
from shop.staff.models import Authorisation, Person, Token
from shop.staff.rules import Can, Role
from shop.workshop.rules import Kind


class PersonIn(Shape):
    name = serializers.CharField(max_length=120)
    email = AddressField(max_length=254)
    password = serializers.CharField(
        max_length=128,
        trim_whitespace=False,
        help_text="At least 15 characters; spaces are welcome.",
        style={"kind": "password", "autocomplete": "new-password"},
    )
    signing_secret = serializers.CharField(
        min_length=8,
        max_length=128,
        trim_whitespace=False,
        help_text="Typed at each sign-off; at least 8 characters and not the password.",
        style={"kind": "password", "autocomplete": "off"},
    )
    roles = serializers.MultipleChoiceField(choices=[(r.value, r.value) for r in Role], allow_empty=False)


class AuthorisationIn(Shape):
    """Each field must be there, so that nobody is authorised for everything by an empty request."""

    maker = serializers.CharField(max_length=80, allow_blank=True, help_text="Empty means any maker.")
    kind = serializers.ChoiceField(
        choices=[(kind.value, kind.label) for kind in Kind],
        allow_blank=True,
        help_text="Empty means any kind of gear.",
    )
    last_day = serializers.DateField(
        allow_null=True, help_text="The last day it holds; empty means until it is changed."
    )


class AuthorisationOut(serializers.ModelSerializer[Authorisation]):
    class Meta:
        model = Authorisation
        fields = ["uid", "maker", "kind", "last_day"]


class PersonOut(serializers.ModelSerializer[Person]):
    roles = serializers.ListField(child=serializers.CharField(), source="role_list")
    authorisations = AuthorisationOut(many=True)

    class Meta:
        model = Person
        fields = ["uid", "name", "email", "is_active", "roles", "authorisations"]


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


class SignInIn(Shape):
    """The fields of the sign-in page, as its form draws them."""

    username = serializers.EmailField(label="E-mail", style={"autocomplete": "username"})
    password = serializers.CharField(
        label="Password",
        trim_whitespace=False,
        style={"kind": "password", "autocomplete": "current-password"},
    )


class HistoryOut(serializers.Serializer[Any]):
    """One entry of the journal; `words` is null when it had none or they were erased."""

    subject = serializers.CharField(source="entry.subject")
    n = serializers.IntegerField(source="entry.n")
    at = serializers.DateTimeField(source="entry.at")
    by = serializers.CharField(source="entry.by")
    who = serializers.CharField()
    verb = serializers.CharField(source="entry.verb")
    facts = serializers.SerializerMethodField()
    words = serializers.DictField(source="personal", allow_null=True)
    hash = serializers.CharField(source="entry.hash")

    def get_facts(self, row: Told) -> dict[str, Any]:
        return dict(json.loads(row.entry.facts))
