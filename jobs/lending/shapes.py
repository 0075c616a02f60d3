"""What is sent and seen of a loan."""

from rest_framework import serializers

from jobs.lending.models import Loan
from shop.api.shapes import NumberedField, Shape, uid_of
from shop.customers.models import Customer


class LendIn(Shape):
    borrower = NumberedField(
        queryset=Customer.objects.select_related("merged_into"),
        label="Who takes it",
        help_text="The customer's number, such as K-0012. Somebody new is added at the Counter first.",
    )
    until = serializers.DateField(
        label="Back by", help_text="No clock of it may fall due up to that day, the day itself included."
    )
    note = serializers.CharField(
        max_length=300,
        required=False,
        allow_blank=True,
        default="",
        label="What goes along, how it looks",
        help_text="About the gear; no names, they could not be erased here.",
    )


class BringBackIn(Shape):
    condition = serializers.CharField(
        max_length=300,
        label="How it came back",
        help_text="As it looks now, also “as it went out”. About the gear; no names, they could not be erased here.",
    )


class LoanOut(serializers.ModelSerializer[Loan]):
    item = uid_of()
    borrower = uid_of()
    by = uid_of()
    back_by = uid_of(allow_null=True)

    class Meta:
        model = Loan
        fields = [
            "uid",
            "item",
            "borrower",
            "out_on",
            "until",
            "note",
            "by",
            "back_on",
            "back_by",
            "condition",
        ]
