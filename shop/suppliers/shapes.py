"""What is sent and seen of suppliers and what they sell; money as decimal text with its currency."""

from rest_framework import serializers

from shop.api.shapes import AddressField, CurrencyField, MoneyField, RowField, Shape, uid_of
from shop.suppliers.models import Offer, Supplier

MOST = 10_000


class SupplierIn(Shape):
    name = serializers.CharField(max_length=120)
    email = AddressField(
        required=False,
        allow_blank=True,
        default="",
        label="E-mail",
        help_text="Where orders are sent. Left open: they are printed or telephoned.",
    )
    lead_days = serializers.IntegerField(
        min_value=0,
        max_value=1000,
        required=False,
        allow_null=True,
        default=None,
        label="Lead time",
        style={"unit": "days"},
        help_text="From ordering to having it here. Left open where it is not known.",
    )


class TermsIn(Shape):
    """How a supplier sells a part."""

    number = serializers.CharField(
        max_length=40, required=False, allow_blank=True, default="", label="The supplier's number"
    )
    pack_size = serializers.IntegerField(
        min_value=1, max_value=MOST, initial=1, label="In packs of", style={"unit": "pieces"}
    )
    price = MoneyField(
        required=False,
        allow_null=True,
        default=None,
        label="Price of a pack",
        help_text="Left open where it is not known; then what comes has no cost until somebody says it.",
    )


class OfferIn(TermsIn):
    supplier = RowField(queryset=Supplier.objects.all())


class SupplierOut(serializers.ModelSerializer[Supplier]):
    email = serializers.CharField(help_text="Empty where there is none.")

    class Meta:
        model = Supplier
        fields = ["uid", "name", "email", "lead_days", "version"]


class OfferOut(serializers.ModelSerializer[Offer]):
    part = uid_of()
    supplier = uid_of()
    unit = serializers.CharField(source="part.unit", help_text="What a pack counts.")
    price = MoneyField(read_only=True, allow_null=True, help_text="Of a pack; null where it is not known.")
    currency = CurrencyField()

    class Meta:
        model = Offer
        fields = ["uid", "part", "supplier", "number", "pack_size", "unit", "price", "currency", "version"]
