"""Loans: which of our own gear went to whom, until when, and how it came back."""

from datetime import date
from uuid import uuid4

from django.db import models

from shop.customers.models import Customer
from shop.gear.models import Item
from shop.staff.models import Person


class Loan(models.Model):
    """An item of ours went to a borrower; `until` is the day by which it must be back.

    It is written once and brought back once, in one row, so that the database sees that an item has one open loan.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="loans")
    borrower = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="borrowed")
    out_on = models.DateField()
    until = models.DateField()
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    back_on = models.DateField(null=True)
    back_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    condition = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=models.Q(back_on__isnull=True), name="loan_one_open_an_item"
            ),
            models.CheckConstraint(condition=models.Q(until__gte=models.F("out_on")), name="loan_days"),
            models.CheckConstraint(
                condition=models.Q(back_on__isnull=True, back_by__isnull=True, condition="")
                | (
                    models.Q(back_on__gte=models.F("out_on"), back_by__isnull=False) & ~models.Q(condition="")
                ),
                name="loan_back_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} to {self.borrower_id} until {self.until}"

    def late(self, on: date) -> bool:
        """Whether it should have been back before a day and is not."""
        return self.back_on is None and self.until < on
