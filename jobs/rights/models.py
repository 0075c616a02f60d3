"""Requests to be erased, and what became of each."""

from datetime import date
from uuid import uuid4

from django.db import models

from jobs.rights.rules import deadline
from shop.customers.models import Customer
from shop.staff.models import Person


class Erasure(models.Model):
    """Somebody asked to be erased. It ends as erased by two people, or is closed without it, and says why."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="erasures")
    reason = models.CharField(max_length=300)
    asked_on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    closed_why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["customer"], condition=models.Q(ended_at__isnull=True), name="erasure_one_open"
            ),
            models.CheckConstraint(
                condition=models.Q(ended_at=None, ended_by=None, second=None, closed_why="")
                | models.Q(
                    ended_at__isnull=False, ended_by__isnull=False, second__isnull=False, closed_why=""
                )
                | models.Q(ended_at__isnull=False, ended_by__isnull=False, second=None)
                & ~models.Q(closed_why=""),
                name="erasure_ended_how",
            ),
            models.CheckConstraint(
                condition=models.Q(second__isnull=True) | ~models.Q(second=models.F("ended_by")),
                name="erasure_by_two",
            ),
        ]

    def __str__(self) -> str:
        return f"erasure of {self.customer.label}, asked on {self.asked_on}"

    @property
    def deadline(self) -> date:
        """Until when they must have an answer."""
        return deadline(self.asked_on)

    @property
    def state(self) -> str:
        return "erased" if self.second_id else "closed" if self.ended_at else "open"
