"""Bench instruments: their calibrations, our own checks between, and when they were found bad."""

from datetime import date
from uuid import uuid4

from django.db import models

from shop.instruments.rules import TOLD, Found, Of
from shop.staff.models import Person
from shop.workshop.rules import pairs, values


class Instrument(models.Model):
    """One bench instrument; resolution and end of scale are text in its unit, accuracy is in % of scale or reading.

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
    accuracy_of = models.CharField(max_length=12, choices=pairs(Of), default=Of.SCALE.value)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(accuracy_of__in=values(Of)), name="instrument_accuracy_of_known"
            ),
            models.CheckConstraint(
                condition=models.Q(accuracy="") | ~models.Q(full_scale=""),
                name="instrument_accuracy_of_scale",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def calibrated_to(self) -> date | None:
        """The last day of the newest calibration."""
        days = [row.good_to for row in self.calibrations.all()]
        return max(days, default=None)

    def calibration_on(self, day: date) -> "Calibration | None":
        """The calibration that covers a day, the longest one; its last day is still good.

        None covers the days after a check of our own found the instrument bad, until it is calibrated again.
        """
        bad = [row for row in self.checks.all() if row.found == Found.BAD and row.done_on <= day]
        rows = [
            row
            for row in self.calibrations.all()
            if row.done_on <= day <= row.good_to and not any(row.spent_by(each) for each in bad)
        ]
        return max(rows, key=lambda row: row.good_to, default=None)

    def fault_on(self, day: date) -> str:
        """Why nothing may rest on it on a day, in words; nothing while a calibration covers the day."""
        if self.calibration_on(day):
            return ""
        bad = [row.done_on for row in self.checks.all() if row.found == Found.BAD and row.done_on <= day]
        covered = any(row.done_on <= day <= row.good_to for row in self.calibrations.all())
        if bad and covered:
            return f"{self.code} was found bad on {max(bad).isoformat()}, and was not calibrated since."
        return f"{self.code} was not in calibration on {day.isoformat()}."


class Look(models.Model):
    """A day on which somebody looked whether an instrument was good: the base of calibrations and checks."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    done_on = models.DateField()
    found = models.CharField(max_length=8, choices=pairs(Found), default=Found.NOT_SAID.value)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True


class Calibration(Look):
    """One calibration: done on a day, good to and including another; `found` is how it came in. Append-only."""

    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="calibrations")
    good_to = models.DateField()
    certificate = models.CharField(max_length=80)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(good_to__gte=models.F("done_on")), name="calibration_period"
            ),
            models.CheckConstraint(
                condition=models.Q(found__in=values(Found)), name="calibration_found_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.certificate} to {self.good_to}"

    @property
    def subject(self) -> str:
        """What photographs and files of its certificate are of."""
        return f"calibration:{self.uid}"

    def spent_by(self, check: "Check") -> bool:
        """Whether a check that found the instrument bad came after it."""
        return (self.done_on, self.recorded_at) < (check.done_on, check.recorded_at)


class Check(Look):
    """A check of our own between calibrations: against what, and by how much it was off; append-only."""

    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="checks")
    against = models.CharField(max_length=120)
    deviation = models.CharField(max_length=12)
    done_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(found__in=values(TOLD)), name="check_found_known")
        ]

    def __str__(self) -> str:
        return f"{self.found} against {self.against}"


class BadPeriod(models.Model):
    """The days on which an instrument that was then found bad may have been bad already; append-only.

    No verdict of those days counts for gear that is still here, but for what was measured after it was found bad, `at`.
    """

    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="bad_periods")
    from_day = models.DateField()
    to_day = models.DateField()
    why = models.CharField(max_length=300)
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(to_day__gte=models.F("from_day")), name="bad_period")
        ]

    def __str__(self) -> str:
        return self.why
