"""Bench tests: every attempt is kept."""

from uuid import uuid4

from django.db import models

from jobs.bench.rules import FINDINGS, VERDICTS
from jobs.flow.models import Round
from shop.instruments.models import Instrument
from shop.staff.models import Person


class Attempt(models.Model):
    """One attempt of one test: readings as read, limits and method as they were, the verdict; append-only.

    `backs` is how often the job had gone back by then: a verdict counts until it goes back again. `beside` names the
    items it was done together with and how often each had been worked on by then: [{item, job, worked}]. An outside
    station's certificate stands in the place of our instrument; `by_eye`: the plan asks for neither. `trace` is packed:
    `reads.stored_trace` gives its CSV. `why_again`: why it was done though an earlier verdict counted.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="attempts")
    key = models.CharField(max_length=90)
    phase = models.CharField(max_length=12, choices=[(p, p) for p in ("as received", "final")])
    instrument = models.ForeignKey(Instrument, null=True, on_delete=models.PROTECT, related_name="+")
    calibrated_to = models.DateField(null=True)
    station = models.CharField(max_length=120, blank=True)
    certificate = models.CharField(max_length=60, blank=True)
    by_eye = models.BooleanField(default=False)
    beside = models.JSONField(default=list)
    reading = models.CharField(max_length=60, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    trace = models.BinaryField(blank=True)
    figures = models.JSONField(default=dict)
    result = models.JSONField()
    picture = models.JSONField(null=True)
    verdict = models.CharField(max_length=12, choices=[(v, v) for v in VERDICTS])
    backs = models.PositiveIntegerField()
    why_again = models.CharField(max_length=200, blank=True)
    authorisation = models.CharField(max_length=200)
    done_at = models.DateTimeField()
    done_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(verdict__in=VERDICTS),
                name="attempt_verdict_known",
            ),
            models.CheckConstraint(
                condition=models.Q(instrument__isnull=False, calibrated_to__isnull=False, certificate="")
                | (models.Q(instrument__isnull=True) & ~models.Q(certificate="") & ~models.Q(station=""))
                | models.Q(instrument__isnull=True, certificate="", verdict__in=FINDINGS)
                | models.Q(instrument__isnull=True, certificate="", by_eye=True),
                name="attempt_has_a_source",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.verdict}"
