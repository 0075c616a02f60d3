"""Clocks: the recurring obligations of an item, every restart of them, and counts of dives and hours."""

from uuid import uuid4

from django.db import models

from shop.clocks.rules import Counted
from shop.gear.models import Item
from shop.intervals.models import Interval
from shop.intervals.rules import Unit
from shop.workshop.rules import pairs, values


class Clock(models.Model):
    """One obligation: `months` by the plan that the item came in under, if it did; rules for intervals may ask sooner.

    `anchor` is when it was done last. `due`, `unknown` (no history, counts as due), `grace` and `interval`, the rule that
    decides, are reckoned again whenever something of it changes; `moved` is how often the day has changed.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="clocks")
    key = models.CharField(max_length=40)
    title = models.CharField(max_length=80)
    months = models.PositiveIntegerField(null=True)
    anchor = models.DateField(null=True)
    due = models.DateField(null=True)
    unknown = models.BooleanField(default=True)
    grace = models.DateField(null=True)
    interval = models.ForeignKey(Interval, null=True, on_delete=models.PROTECT, related_name="clocks")
    moved = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["item", "key"], name="clock_once"),
            models.CheckConstraint(
                condition=models.Q(unknown=False) | models.Q(due__isnull=True), name="clock_unknown_or_due"
            ),
        ]
        indexes = [
            models.Index(fields=["due"]),
            models.Index(fields=["unknown"], condition=models.Q(unknown=True), name="clocks_unknown"),
        ]

    def __str__(self) -> str:
        return f"{self.title} of {self.item_id}"


class Restart(models.Model):
    """A restart of a clock with what it was before, so that it can be taken back; `elsewhere` names others who did it.

    `cause` also names the proof that was kept of what others did.
    """

    clock = models.ForeignKey(Clock, on_delete=models.PROTECT, related_name="restarts")
    cause = models.CharField(max_length=80)
    elsewhere = models.CharField(max_length=120, blank=True)
    anchor = models.DateField()
    due = models.DateField(null=True)
    before_anchor = models.DateField(null=True)
    before_due = models.DateField(null=True)
    before_months = models.PositiveIntegerField(null=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=40)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["clock", "cause"], name="restart_once")]

    def __str__(self) -> str:
        return f"{self.cause}: due {self.due}"


class TakenBack(models.Model):
    """A restart that was taken back, because the round that caused it was opened again; append-only."""

    restart = models.OneToOneField(Restart, on_delete=models.PROTECT, related_name="taken_back")
    at = models.DateTimeField()
    by = models.CharField(max_length=40)

    def __str__(self) -> str:
        return f"{self.restart_id} taken back"


class Tally(models.Model):
    """So many dives or hours of an item in all, on a day; append-only: of one day the newest row counts."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="tallies")
    unit = models.CharField(max_length=5, choices=pairs(Unit))
    day = models.DateField()
    total = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.CharField(max_length=40)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(unit__in=values(Unit)), name="tally_unit_known")
        ]

    def __str__(self) -> str:
        return f"{self.total} {self.unit} on {self.day}"

    @property
    def counted(self) -> Counted:
        return Counted(self.unit, self.day, self.total)
