"""Counts of bins, and the numbers that were entered."""

from uuid import uuid4

from django.db import models

from shop.staff.models import Person
from shop.stock.models import Bin, Lot


class Count(models.Model):
    """A bin that is counted; closed once its differences are booked, or it is set aside. One of a bin is open at a time."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    bin = models.ForeignKey(Bin, on_delete=models.PROTECT, related_name="counts")
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    booked = models.BooleanField(default=False)
    reason = models.CharField(max_length=70, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["bin"], condition=models.Q(closed_at=None), name="count_one_open_a_bin"
            ),
            models.CheckConstraint(
                condition=models.Q(closed_at=None, closed_by=None, booked=False, reason="")
                | (models.Q(closed_at__isnull=False, closed_by__isnull=False) & ~models.Q(reason="")),
                name="count_closed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"count of {self.bin}"


class Line(models.Model):
    """A number that was entered for a lot, the first or the second; append-only.

    `there` is what was on hand in the bin at that instant; `alone` that nobody else was there to count a second time.
    """

    count = models.ForeignKey(Count, on_delete=models.PROTECT, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    n = models.PositiveSmallIntegerField()
    counted = models.IntegerField()
    there = models.IntegerField()
    alone = models.BooleanField(default=False)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["count", "lot", "n"], name="count_line_once"),
            models.CheckConstraint(
                condition=models.Q(n__in=(1, 2), counted__gte=0, there__gte=0), name="count_line_of_pieces"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.counted} of {self.lot_id}"
