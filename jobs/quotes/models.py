"""Amounts that were put to customers under the link of a drop-off."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import DropOff
from jobs.quotes.rules import Became
from shop.links.models import Link
from shop.staff.models import Person
from shop.workshop.rules import pairs, values


class Quote(models.Model):
    """An amount for a whole drop-off, in the smallest unit, up to which its customer is asked to agree, as number `n`.

    Written once and ended once: agreed or declined by a `link`, or withdrawn by somebody of the house.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="quotes")
    n = models.PositiveIntegerField()
    amount = models.PositiveBigIntegerField()
    currency = models.CharField(max_length=3)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    became = models.CharField(max_length=10, blank=True, choices=pairs(Became))
    ended_at = models.DateTimeField(null=True)
    link = models.ForeignKey(Link, null=True, on_delete=models.PROTECT, related_name="quotes")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["drop_off", "n"], name="quote_n"),
            models.UniqueConstraint(
                fields=["drop_off"], condition=models.Q(became=""), name="quote_one_open_a_drop_off"
            ),
            models.CheckConstraint(
                condition=models.Q(became__in=["", *values(Became)]), name="quote_became_known"
            ),
            models.CheckConstraint(
                condition=models.Q(became="", ended_at=None, link=None)
                | models.Q(became=Became.WITHDRAWN.value, ended_at__isnull=False, link=None)
                | models.Q(became__in=["agreed", "declined"], ended_at__isnull=False, link__isnull=False),
                name="quote_ended_as_it_became",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} {self.currency} for drop-off {self.drop_off_id}"
