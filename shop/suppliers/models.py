"""Suppliers, and what they sell."""

from uuid import uuid4

from django.db import models

from shop.stock.models import Part


class Supplier(models.Model):
    """Who parts are ordered from. Without `email` an order is telephoned or printed; `lead_days` None: not known."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    name = models.CharField(max_length=120, unique=True)
    email = models.EmailField(blank=True)
    lead_days = models.PositiveIntegerField(null=True)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.name


class Offer(models.Model):
    """A part as a supplier sells it: under their number, in packs of so many; `price` of a pack, None where not known."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="offers")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="offers")
    number = models.CharField(max_length=40, blank=True)
    pack_size = models.PositiveIntegerField()
    price = models.PositiveBigIntegerField(null=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["part", "supplier"], name="offer_once"),
            models.CheckConstraint(condition=models.Q(pack_size__gte=1), name="offer_of_pieces"),
        ]

    def __str__(self) -> str:
        return f"{self.part} from {self.supplier}"
