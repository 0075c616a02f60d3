"""Rates of tax, as the workshop fills them in."""

from uuid import uuid4

from django.db import models

from shop.money.rules import MOST_SHARE
from shop.staff.models import Person


class TaxRate(models.Model):
    """From a day on, a name stands for this rate, in thousandths of a percent, or for none any more; append-only.

    The newest row of the latest day that has come counts, so a slip is put right by another row.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    name = models.CharField(max_length=40)
    share = models.PositiveIntegerField(null=True)
    from_day = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(share=None) | models.Q(share__range=(0, MOST_SHARE)), name="tax_rate_share"
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="tax_rate_named"),
        ]

    def __str__(self) -> str:
        return self.name
