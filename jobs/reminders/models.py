"""Reminders: a due clock at one rung of the ladder; the ladders that a workshop chose."""

from django.db import models

from shop.clocks.models import Clock


class Reminder(models.Model):
    """One rung of one clock and due date, once: claimed for the run of a day, and said when it has its letter.

    What has no letter was said to nobody; the next day's run takes it back and claims what holds by then.
    """

    clock = models.ForeignKey(Clock, on_delete=models.PROTECT, related_name="reminders")
    due = models.DateField()
    rung = models.IntegerField()
    run = models.DateField()
    letter = models.UUIDField(null=True)
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["clock", "due", "rung"], name="reminder_once")]
        indexes = [
            models.Index(fields=["run"], condition=models.Q(letter=None), name="reminders_unsaid"),
        ]

    def __str__(self) -> str:
        return f"rung {self.rung} of clock {self.clock_id}"


class Ladder(models.Model):
    """The rungs of a kind of clock, days from the due day; none once it goes by the ladder of all others again."""

    clock = models.CharField(max_length=40, unique=True)
    rungs = models.JSONField(default=list)
    version = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"ladder of {self.clock}"
