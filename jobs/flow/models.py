"""Drop-offs, lines, jobs, rounds, moves and custody: where everything is."""

from uuid import uuid4

from django.db import models

from jobs.flow.rules import ENDED, Dive, Leg, Outcome, dive
from shop.catalogue.models import PlanVersion
from shop.catalogue.rules import Plan
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.staff.models import Person
from shop.workshop.rules import pairs, values


class DropOff(models.Model):
    """One visit of a customer; it has lines."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.PositiveIntegerField(unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="drop_offs")
    promised_on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        return f"C-{self.number:04d}"


class Line(models.Model):
    """What was put on the counter: bag tag, words, condition, contents; its item and job may come later."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="lines")
    n = models.PositiveIntegerField()
    words = models.TextField(blank=True)
    condition = models.TextField(blank=True)
    contents = models.CharField(max_length=16, choices=[(c, c) for c in ("no gas", "under pressure")])
    emptied_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    emptied_at = models.DateTimeField(null=True)
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="lines")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["drop_off", "n"], name="line_n"),
            models.CheckConstraint(
                condition=models.Q(contents__in=["no gas", "under pressure"]), name="line_contents_known"
            ),
        ]

    def __str__(self) -> str:
        return self.tag

    @property
    def tag(self) -> str:
        """What stands on the bag."""
        return f"{self.drop_off.label}-{self.n}"


class Job(models.Model):
    """One item's passage through the workshop under its pinned plan version."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.PositiveIntegerField(unique=True)
    line = models.OneToOneField(Line, on_delete=models.PROTECT, related_name="job")
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="jobs")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="jobs")
    plan_version = models.ForeignKey(PlanVersion, on_delete=models.PROTECT, related_name="jobs")
    technician = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="jobs")
    promised_on = models.DateField()
    leg = models.CharField(max_length=12, choices=pairs(Leg), default=Leg.CHECKED_IN.value)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=~models.Q(leg__in=values(ENDED)), name="job_one_open_an_item"
            ),
            models.CheckConstraint(condition=models.Q(leg__in=values(Leg)), name="job_leg_known"),
        ]
        indexes = [
            models.Index(
                fields=["technician", "promised_on"],
                condition=models.Q(leg__in=values(leg for leg in Leg if leg not in ENDED)),
                name="job_open_queue",
            )
        ]

    def __str__(self) -> str:
        return f"Job {self.number}"

    @property
    def plan(self) -> Plan:
        """The one place from which the work of a job is read."""
        return self.plan_version.plan

    @property
    def leg_label(self) -> str:
        return self.leg.replace("_", " ")

    @property
    def outcome(self) -> str:
        """What the newest round came to; empty while it is open."""
        return max(self.rounds.all(), key=lambda row: row.n).outcome

    @property
    def dive(self) -> Dive:
        """The job drawn small, for lists."""
        return dive(self.plan.legs, self.leg, False, True)

    @property
    def full_dive(self) -> Dive:
        """The job drawn with its legs named."""
        return dive(self.plan.legs, self.leg, False, False)


class Round(models.Model):
    """One pass of steps, tray, tests and sign-off within a job; its outcome is empty until it is signed off."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="rounds")
    n = models.PositiveIntegerField()
    outcome = models.CharField(max_length=14, blank=True, choices=pairs(Outcome))

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "n"], name="round_n"),
            models.CheckConstraint(
                condition=models.Q(outcome__in=["", *values(Outcome)]), name="round_outcome_known"
            ),
        ]

    def __str__(self) -> str:
        return f"round {self.n} of job {self.job_id}"


class Move(models.Model):
    """A job went from one leg to another; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="moves")
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="moves")
    from_leg = models.CharField(max_length=12)
    to_leg = models.CharField(max_length=12)
    back = models.BooleanField()
    reason = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.from_leg} to {self.to_leg}"

    @property
    def from_label(self) -> str:
        return self.from_leg.replace("_", " ")

    @property
    def to_label(self) -> str:
        return self.to_leg.replace("_", " ")


class Custody(models.Model):
    """Who has a line's gear since when; append-only, the newest row holds.

    `holder` names a place or a row such as a hand-back, never a person: erasure could not reach it here.
    """

    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="custody")
    holder = models.CharField(max_length=160)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.holder
