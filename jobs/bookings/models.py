"""Days on which gear may be dropped off by appointment, and who booked one."""

from collections.abc import Iterable
from uuid import uuid4

from django.db import models

from jobs.bookings.rules import Became, became
from jobs.flow.models import DropOff
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.workshop.reads import today


class DropOffDays(models.Model):
    """One row: room for so many drop-offs a day, so many days ahead; on which days, the workshop's closed days say."""

    a_day = models.PositiveIntegerField(default=0)
    horizon = models.PositiveIntegerField(default=60)
    version = models.PositiveIntegerField(default=1)
    only = models.BooleanField(default=True, unique=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(only=True), name="drop_off_days_are_one_row")
        ]

    def __str__(self) -> str:
        return f"{self.a_day} a day"


class Booking(models.Model):
    """A day that a customer booked; `made_by` is empty where they did by a link. Kept when a drop-off is taken in."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="bookings")
    day = models.DateField(db_index=True)
    items = models.ManyToManyField(Item, related_name="bookings")
    note = models.CharField(max_length=300, blank=True)
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=40, blank=True)
    cancelled_at = models.DateTimeField(null=True)
    drop_off = models.OneToOneField(DropOff, null=True, on_delete=models.PROTECT, related_name="booking")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["customer", "day"],
                condition=models.Q(cancelled_at__isnull=True),
                name="booking_once_a_day",
            ),
            models.CheckConstraint(
                condition=models.Q(cancelled_at__isnull=True) | models.Q(drop_off__isnull=True),
                name="booking_came_or_cancelled",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.customer} on {self.day}"

    def says(self, note: str, items: Iterable[Item]) -> bool:
        """Whether it is about the same gear, with the same note."""
        return self.note == note and {i.kept.pk for i in self.items.all()} == {i.kept.pk for i in items}

    @property
    def became(self) -> Became:
        came, cancelled = self.drop_off_id is not None, self.cancelled_at is not None
        return became(self.day, today(), came=came, cancelled=cancelled)
