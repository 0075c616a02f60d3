"""Bench tests: every attempt is kept."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Round
from shop.instruments.models import Instrument
from shop.staff.models import Person


class Attempt(models.Model):
    """One attempt of one test: readings as read, limits and method as they were, the verdict; append-only.

    `backs` is how often the job had gone back by then: a verdict counts until it goes back again.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="attempts")
    key = models.CharField(max_length=90)
    phase = models.CharField(max_length=12, choices=[(p, p) for p in ("as received", "final")])
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    calibrated_to = models.DateField()
    reading = models.CharField(max_length=60, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    trace = models.TextField(blank=True)
    result = models.JSONField()
    picture = models.JSONField(null=True)
    verdict = models.CharField(max_length=12, choices=[(v, v) for v in ("within", "outside", "inconclusive")])
    backs = models.PositiveIntegerField()
    authorisation = models.CharField(max_length=200)
    done_at = models.DateTimeField()
    done_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(verdict__in=["within", "outside", "inconclusive"]),
                name="attempt_verdict_known",
            )
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.verdict}"
