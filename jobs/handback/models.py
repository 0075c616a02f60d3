"""Hand-backs: which items left with whom."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import DropOff, Job, Line
from shop.staff.models import Person


class HandBack(models.Model):
    """Items of one drop-off that left together with a named collector."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="hand_backs")
    jobs = models.ManyToManyField(Job, related_name="hand_backs")
    lines = models.ManyToManyField(Line, related_name="hand_backs")  # what never had a job
    collector = models.CharField(max_length=160)
    acknowledged = models.BooleanField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.collector


class Asked(models.Model):
    """A customer was asked to collect: by e-mail through the outbox, by a paper letter, or by telephone; append-only."""

    EMAIL, LETTER, TELEPHONE = "e-mail", "paper letter", "telephone"
    RECORDED = (EMAIL, LETTER)

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="asked")
    how = models.CharField(max_length=14, choices=[(how, how) for how in (EMAIL, LETTER, TELEPHONE)])
    on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["drop_off", "how", "on"], name="asked_once_a_day"),
            models.CheckConstraint(
                condition=models.Q(how__in=["e-mail", "paper letter", "telephone"]), name="asked_how_known"
            ),
        ]

    def __str__(self) -> str:
        return f"asked by {self.how} on {self.on}"


class Disposal(models.Model):
    """An uncollected item was disposed of, and how; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="disposal")
    how = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.how
