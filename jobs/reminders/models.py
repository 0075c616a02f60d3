"""Reminders: a due clock at one rung of the ladder; the ladders that a workshop chose."""

from django.db import models

from shop.clocks.models import Clock


class Reminder(models.Model):
    """One rung of one clock and due date, written once; `claim` is the uid of the letter that was to say it."""

    clock = models.ForeignKey(Clock, on_delete=models.PROTECT, related_name="reminders")
    due = models.DateField()
    rung = models.IntegerField()
    claim = models.UUIDField()
    letter = models.UUIDField(null=True)
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["clock", "due", "rung"], name="reminder_once")]

    def __str__(self) -> str:
        return f"rung {self.rung} of clock {self.clock_id}"


class Ladder(models.Model):
    """The rungs of a kind of clock, days from the due day; none once it goes by the ladder of all others again."""

    clock = models.CharField(max_length=40, unique=True)
    rungs = models.JSONField(default=list)
    version = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"ladder of {self.clock}"
