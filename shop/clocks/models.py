"""Clocks: the recurring obligations of an item, and every restart of them."""

from uuid import uuid4

from django.db import models

from shop.gear.models import Item


class Clock(models.Model):
    """One obligation by months; a clock with unknown history counts as due, so its due date may be empty."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="clocks")
    key = models.CharField(max_length=40)
    title = models.CharField(max_length=80)
    months = models.PositiveIntegerField()
    anchor = models.DateField(null=True)
    due = models.DateField(null=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["item", "key"], name="clock_once")]
        indexes = [models.Index(fields=["due"])]

    def __str__(self) -> str:
        return f"{self.title} of {self.item_id}"


class Restart(models.Model):
    """A restart of a clock with what it was before, so that it can be taken back."""

    clock = models.ForeignKey(Clock, on_delete=models.PROTECT, related_name="restarts")
    cause = models.CharField(max_length=80)
    anchor = models.DateField()
    due = models.DateField()
    before_anchor = models.DateField(null=True)
    before_due = models.DateField(null=True)
    before_months = models.PositiveIntegerField()
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
