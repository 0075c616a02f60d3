"""What people send and see of people, and of what was journalled."""

import json
from typing import Any

from rest_framework import serializers

from shop.api.shapes import AddressField, RowField, Shape, uid_of
from shop.journal.reads import Told
from shop.staff.models import Authorisation, Person
from shop.staff.rules import Role
from shop.workshop.models import Workshop
from shop.workshop.rules import Kind

SECRET = {"kind": "password", "autocomplete": "off"}  # how a form shows a signing secret


def somebody(label: str, help_text: str = "") -> serializers.SlugRelatedField[Person]:
    """A person who works here, or nobody."""
    return RowField(
        queryset=Person.objects.filter(is_active=True),
        required=False,
        allow_null=True,
        default=None,
        label=label,
        help_text=help_text,
    )


def their_secret(label: str = "Their signing secret") -> serializers.CharField:
    """The signing secret of a second person, where there is one."""
    return serializers.CharField(
        max_length=128,
        required=False,
        allow_blank=True,
        default="",
        trim_whitespace=False,
        label=label,
        style=SECRET,
    )


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
        style=SECRET,
    )
    roles = serializers.MultipleChoiceField(choices=[(r.value, r.value) for r in Role], allow_empty=False)


REACH: dict[str, Any] = {
    "max_length": 300,
    "required": False,
    "allow_blank": True,
    "style": {"kind": "textarea"},
}


class ReachIn(Shape):
    """What is not sent stays as it is."""

    reach = serializers.CharField(
        label="How customers reach us",
        help_text="Telephone and address: it stands at the foot of letters and on claim tickets.",
        **REACH,
    )
    hours = serializers.CharField(
        label="Opening hours",
        help_text="In your own words, as customers read them: where gear is ready to collect, and on the page of their private link.",
        **REACH,
    )


class WorkshopOut(serializers.ModelSerializer[Workshop]):
    class Meta:
        model = Workshop
        fields = ["name", "zone", "currency", "reach", "hours", "version"]


class AuthorisationIn(Shape):
    """Each field must be there, so that nobody is authorised for everything by an empty request."""

    maker = serializers.CharField(max_length=80, allow_blank=True, help_text="Empty means any maker.")
    kind = serializers.ChoiceField(
        choices=[(kind.value, kind.label) for kind in Kind],
        allow_blank=True,
        help_text="Empty means any kind of gear.",
    )
    last_day = serializers.DateField(
        allow_null=True, help_text="The last day it holds; empty means until it is ended."
    )
    cylinders = serializers.BooleanField(
        default=False, label="Cylinder work", help_text="Work on a cylinder asks for it."
    )
    oxygen_clean = serializers.BooleanField(
        default=False, label="Oxygen-clean work", help_text="Work on oxygen-clean gear asks for it."
    )
    under = somebody(
        "Trainee under",
        "Whom a trainee works under, and who signs for them; empty for somebody who works alone.",
    )


class EndAuthorisationIn(Shape):
    last_day = serializers.DateField(
        allow_null=True, help_text="The last day it holds; empty means today is the last day."
    )


class AuthorisationOut(serializers.ModelSerializer[Authorisation]):
    under = uid_of(allow_null=True)

    class Meta:
        model = Authorisation
        fields = ["uid", "maker", "kind", "last_day", "cylinders", "oxygen_clean", "under"]


class RolesIn(Shape):
    roles = serializers.MultipleChoiceField(choices=[(r.value, r.value) for r in Role], allow_empty=False)


class PersonOut(serializers.ModelSerializer[Person]):
    roles = serializers.ListField(child=serializers.CharField(), source="role_list")
    authorisations = AuthorisationOut(many=True)

    class Meta:
        model = Person
        fields = ["uid", "name", "email", "is_active", "roles", "authorisations", "version"]


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
