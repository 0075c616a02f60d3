"""What is sent and seen of a customer."""

from typing import Any

import phonenumbers
from rest_framework import serializers

from shop.api.shapes import AddressField, Shape, uid_of
from shop.customers.models import Customer
from shop.workshop.reads import country, language
from shop.workshop.rules import Language

DIGITS = "Write one number, in digits; from abroad with + and the country code, like +44 1632 960417."


class PhoneField(serializers.CharField):
    """A phone number, kept as E.164; without + it is one of the workshop's own country."""

    def to_internal_value(self, data: Any) -> str:
        text = super().to_internal_value(data)
        if not text:
            return ""
        if any(sign.isalpha() for sign in text):  # the library would dial them, or drop them
            raise serializers.ValidationError(DIGITS)
        try:
            number = phonenumbers.parse(text, country() or None)
        except phonenumbers.NumberParseException:
            raise serializers.ValidationError(DIGITS) from None
        # What only its own town could dial, without the code of an area, is none that others reach.
        possible = phonenumbers.is_possible_number_with_reason(number)
        if possible != phonenumbers.ValidationResult.IS_POSSIBLE or not number.national_number:
            raise serializers.ValidationError(f"That is no phone number of +{number.country_code}.")
        return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


class CustomerIn(Shape):
    kind = serializers.ChoiceField(
        choices=["person", "organisation"], initial="person", style={"kind": "radio"}
    )
    name = serializers.CharField(max_length=160, style={"autocomplete": "off"})
    email = AddressField(max_length=254, required=False, allow_blank=True, default="", label="E-mail")
    phone = PhoneField(
        max_length=40,
        required=False,
        allow_blank=True,
        default="",
        help_text="From abroad with + and the country code.",
        style={"kind": "tel", "inputmode": "tel"},
    )
    postal = serializers.CharField(
        max_length=300,
        required=False,
        allow_blank=True,
        default="",
        label="Postal address",
        help_text="As on an envelope, without the name. Estimates and bills print it.",
        style={"kind": "textarea", "attrs": {"rows": 3, "autocomplete": "off"}},
    )
    language = serializers.ChoiceField(
        choices=[(each.value, each.label) for each in Language],
        required=False,
        default=language,
        help_text="Letters to them are in it.",
    )
    reminders = serializers.BooleanField(
        default=False,
        label="Wants a letter when a service is due",
        help_text="Ask; without a yes no reminder is written.",
    )
    fewer = serializers.BooleanField(
        default=False,
        label="One letter for each due date is enough",
        help_text="On the day itself or soon after; none before it.",
    )
    ours = serializers.BooleanField(
        default=False,
        label="This is us: loan and rental gear",
        help_text="No reminders. It may be lent, unless something of it is due; what is overdue stands on the list of what is due.",
    )


class CustomerOut(serializers.ModelSerializer[Customer]):
    number = serializers.CharField(source="label")
    merged_into = uid_of(allow_null=True)

    class Meta:
        model = Customer
        fields = [
            "uid",
            "number",
            "kind",
            "name",
            "email",
            "phone",
            "postal",
            "language",
            "reminders",
            "fewer",
            "ours",
            "merged_into",
            "version",
        ]
