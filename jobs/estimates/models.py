"""Go-aheads: up to which amount a customer lets us work."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import DropOff
from shop.staff.models import Person

HOW = ("in person", "by telephone", "in writing")


class GoAhead(models.Model):
    """An amount, in the smallest unit of a currency, that somebody agreed to for a drop-off; the newest holds."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="go_aheads")
    amount = models.PositiveBigIntegerField()
    currency = models.CharField(max_length=3)
    given_by = models.CharField(max_length=160)
    how = models.CharField(max_length=12, choices=[(how, how) for how in HOW])
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.amount} {self.currency}"
