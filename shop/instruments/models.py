"""Calibrated bench instruments."""

from datetime import date
from uuid import uuid4

from django.db import models


class Instrument(models.Model):
    """One bench instrument; resolution and end of scale are text in its unit, accuracy is in % of the end of its scale.

    Each is empty when it is not known.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=40)
    unit = models.CharField(max_length=10)
    resolution = models.CharField(max_length=12, blank=True)
    full_scale = models.CharField(max_length=12, blank=True)
    accuracy = models.CharField(max_length=12, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(accuracy="") | ~models.Q(full_scale=""),
                name="instrument_accuracy_of_scale",
            )
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def calibrated_to(self) -> date | None:
        """The last day of the newest calibration."""
        days = [row.good_to for row in self.calibrations.all()]
        return max(days, default=None)

    def calibration_on(self, day: date) -> "Calibration | None":
        """The calibration that covers a day, the longest one; its last day is still good."""
        rows = [row for row in self.calibrations.all() if row.done_on <= day <= row.good_to]
        return max(rows, key=lambda row: row.good_to, default=None)


class Calibration(models.Model):
    """One calibration: done on a day, good to and including another."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="calibrations")
    done_on = models.DateField()
    good_to = models.DateField()
    certificate = models.CharField(max_length=80)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(good_to__gte=models.F("done_on")), name="calibration_period"
            )
        ]

    def __str__(self) -> str:
        return f"{self.certificate} to {self.good_to}"
