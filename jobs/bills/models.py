"""Bills, which are never changed, and marks of what was paid."""

from typing import Any
from uuid import uuid4

from django.db import models

from jobs.bills.rules import Mark, Way
from jobs.flow.models import DropOff
from shop.money.rules import Payer
from shop.staff.models import Person
from shop.workshop.rules import pairs, values


class Bill(models.Model):
    """What one payer is charged for a drop-off, as it was on that day; append-only. A counter-bill `corrects` one and says why.

    `document` holds amounts in the smallest unit and names nobody: the customer is the drop-off's.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.PositiveIntegerField(unique=True)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="bills")
    payer = models.CharField(max_length=20, choices=pairs(Payer))
    corrects = models.OneToOneField("self", null=True, on_delete=models.PROTECT, related_name="countered_by")
    reason = models.CharField(max_length=200, blank=True)
    total = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    document = models.JSONField()
    on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(payer__in=[Payer.CUSTOMER.value, Payer.PROGRAMME.value]),
                name="bill_payer_known",
            ),
            models.CheckConstraint(
                condition=models.Q(corrects=None, reason="", total__gte=0)
                | (models.Q(corrects__isnull=False, total__lte=0) & ~models.Q(reason="")),
                name="bill_countered_why",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        return f"{'Bill' if self.corrects_id is None else 'Counter-bill'} {self.number:04d}"

    @property
    def keys(self) -> set[str]:
        """The lines of estimates that are on it."""
        lines: list[dict[str, Any]] = self.document["lines"]
        return {each["key"] for each in lines}


class Payment(models.Model):
    """Somebody paid, or was given back: it is marked here and handled elsewhere; append-only.

    A wrong mark is taken back by another row of the same amount, which says why.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="payments")
    kind = models.CharField(max_length=8, choices=pairs(Mark))
    amount = models.PositiveBigIntegerField()
    currency = models.CharField(max_length=3)
    way = models.CharField(max_length=14, choices=pairs(Way))
    on = models.DateField()
    takes_back = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="taken_back_by"
    )
    reason = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(kind__in=values(Mark)), name="payment_kind_known"),
            models.CheckConstraint(condition=models.Q(way__in=values(Way)), name="payment_way_known"),
            models.CheckConstraint(condition=models.Q(amount__gte=1), name="payment_of_something"),
            models.CheckConstraint(
                condition=models.Q(takes_back=None, reason="")
                | (models.Q(takes_back__isnull=False) & ~models.Q(reason="")),
                name="payment_taken_back_why",
            ),
        ]

    def __str__(self) -> str:
        return self.kind

    @property
    def signed(self) -> int:
        """What it adds to what was paid."""
        given = -self.amount if self.kind == Mark.REFUND else self.amount
        return -given if self.takes_back_id else given
