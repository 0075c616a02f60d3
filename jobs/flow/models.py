"""Drop-offs, lines, jobs, rounds, moves and custody: where everything is."""

from uuid import uuid4

from django.db import models
from django.utils.functional import cached_property

from jobs.flow.rules import ENDED, OPEN, Contents, HoldKind, Leg, LineState, Outcome, Taint, Where, dive
from shop.catalogue.models import PlanVersion
from shop.catalogue.rules import Plan, together
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.staff.models import Person
from shop.web.rules import Dive
from shop.workshop.rules import pairs, values


class DropOff(models.Model):
    """One visit of a customer, the owner; whoever else brings, pays or may collect is named. It has lines."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.PositiveIntegerField(unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="drop_offs")
    bringer = models.ForeignKey(Customer, null=True, on_delete=models.PROTECT, related_name="brought")
    payer = models.ForeignKey(Customer, null=True, on_delete=models.PROTECT, related_name="paid_for")
    collector = models.ForeignKey(Customer, null=True, on_delete=models.PROTECT, related_name="collects")
    wanted_on = models.DateField(null=True)
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
    state = models.CharField(max_length=14, choices=pairs(LineState), default=LineState.WHOLE.value)
    contents = models.CharField(max_length=16, choices=pairs(Contents))
    gas = models.CharField(max_length=40, blank=True)
    pressure = models.CharField(max_length=10, blank=True)
    pressure_unit = models.CharField(max_length=4, blank=True)
    taint = models.CharField(max_length=12, choices=pairs(Taint), default=Taint.NONE.value)
    accessories = models.TextField(blank=True)
    emptied_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    emptied_at = models.DateTimeField(null=True)
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="lines")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["drop_off", "n"], name="line_n"),
            models.CheckConstraint(
                condition=models.Q(contents__in=values(Contents)), name="line_contents_known"
            ),
            models.CheckConstraint(condition=models.Q(state__in=values(LineState)), name="line_state_known"),
            models.CheckConstraint(condition=models.Q(taint__in=values(Taint)), name="line_taint_known"),
        ]

    def __str__(self) -> str:
        return self.tag

    @property
    def tag(self) -> str:
        """What stands on the bag."""
        return f"{self.drop_off.label}-{self.n}"


class Job(models.Model):
    """One item's passage through the workshop under one or more pinned plan versions.

    `worked` counts what was done to the gear, so that another item's test beside it can tell that it was adjusted since.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.PositiveIntegerField(unique=True)
    line = models.OneToOneField(Line, on_delete=models.PROTECT, related_name="job")
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="jobs")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="jobs")
    plan_version = models.ForeignKey(PlanVersion, on_delete=models.PROTECT, related_name="jobs")
    more_plans = models.ManyToManyField(PlanVersion, related_name="+")
    follows = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="followed_by")
    technician = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="jobs")
    promised_on = models.DateField()
    promised_why = models.CharField(max_length=300, blank=True)
    worked = models.PositiveIntegerField(default=0)
    leg = models.CharField(max_length=12, choices=pairs(Leg), default=Leg.CHECKED_IN.value)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=~models.Q(leg__in=values(ENDED)), name="job_one_open_an_item"
            ),
            models.CheckConstraint(condition=models.Q(leg__in=values(Leg)), name="job_leg_known"),
            models.CheckConstraint(condition=~models.Q(follows=models.F("id")), name="job_follows_another"),
        ]
        indexes = [
            models.Index(
                fields=["technician", "promised_on"],
                condition=models.Q(leg__in=values(OPEN)),
                name="job_open_queue",
            )
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        return f"Job {self.number}"

    @cached_property
    def plans(self) -> list[PlanVersion]:
        """Every pinned version, the first one first."""
        return [self.plan_version, *sorted(self.more_plans.all(), key=lambda each: each.pk)]

    @cached_property
    def plan(self) -> Plan:
        """The one place from which the work of a job is read: all its plans as one."""
        return together([(each.key, each.plan) for each in self.plans])

    @property
    def legs(self) -> tuple[str, ...]:
        """The job's own passage, to the end that it takes."""
        legs = self.plan.legs
        return (*legs[:-1], Leg.DISPOSED.value) if self.leg == Leg.DISPOSED else legs

    @property
    def leg_label(self) -> str:
        return self.leg.replace("_", " ")

    @property
    def has_ended(self) -> bool:
        return self.leg in ENDED

    @property
    def outcome(self) -> str:
        """What the newest round came to; empty while it is open."""
        return max(self.rounds.all(), key=lambda row: row.n).outcome

    @property
    def open_holds(self) -> list["Hold"]:
        """The job's own holds that stand, and those on its item."""
        return [row for row in (*self.holds.all(), *self.item.holds.all()) if row.lifted_at is None]

    @property
    def is_held(self) -> bool:
        return bool(self.open_holds)

    @property
    def dive(self) -> Dive:
        """The job drawn small, for lists."""
        return dive(self.legs, self.leg, self.is_held, True)

    @property
    def full_dive(self) -> Dive:
        """The job drawn with its legs named."""
        return dive(self.legs, self.leg, self.is_held, False)


class Round(models.Model):
    """One pass of steps, tray, tests and sign-off within a job; its outcome is empty until it is signed off."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="rounds")
    n = models.PositiveIntegerField()
    outcome = models.CharField(max_length=14, blank=True, choices=pairs(Outcome))

    class Meta:
        ordering = ["pk"]
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


class Hold(models.Model):
    """Why which moves of a job are blocked; an evidence hold may stand on an item without a job.

    It is written once and lifted once; an evidence hold is lifted by two people, one that waits for a customer perhaps by
    nobody of the house: by their answer under a private link.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, null=True, on_delete=models.PROTECT, related_name="holds")
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="holds")
    kind = models.CharField(max_length=10, choices=pairs(HoldKind))
    why = models.CharField(max_length=300)
    cause = models.CharField(max_length=80, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    lifted_at = models.DateTimeField(null=True)
    lifted_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    lifted_second = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    lifted_why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(job__isnull=False, item__isnull=True)
                | models.Q(job__isnull=True, item__isnull=False, kind="evidence"),
                name="hold_on_one_thing",
            ),
            models.CheckConstraint(condition=models.Q(kind__in=values(HoldKind)), name="hold_kind_known"),
            models.CheckConstraint(
                condition=models.Q(lifted_at__isnull=True, lifted_by__isnull=True)
                | models.Q(lifted_at__isnull=False, lifted_by__isnull=False)
                | models.Q(lifted_at__isnull=False, kind="customer"),
                name="hold_lifted_by_somebody",
            ),
            models.CheckConstraint(
                condition=~models.Q(kind="evidence")
                | models.Q(lifted_at__isnull=True)
                | (models.Q(lifted_second__isnull=False) & ~models.Q(lifted_second=models.F("lifted_by"))),
                name="hold_evidence_lifted_by_two",
            ),
            models.UniqueConstraint(
                fields=["job", "cause"],
                condition=models.Q(lifted_at__isnull=True) & ~models.Q(cause=""),
                name="hold_once_a_cause",
            ),
            models.UniqueConstraint(
                fields=["item"],
                condition=models.Q(kind="evidence", lifted_at__isnull=True),
                name="hold_evidence_once_an_item",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.why}"


class Custody(models.Model):
    """Who or where has a line's gear, or an item, under which seal since when; append-only, the newest row holds.

    `holder` names a place or a row such as a hand-back, never a person: erasure would take all of it. A row may
    correct an earlier one, which stays.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="custody")
    where = models.CharField(max_length=8, choices=pairs(Where), default=Where.HERE.value)
    holder = models.CharField(max_length=160)
    seal = models.CharField(max_length=60, blank=True)
    why = models.CharField(max_length=300, blank=True)
    corrects = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(where__in=values(Where)), name="custody_where_known")
        ]

    def __str__(self) -> str:
        return self.holder
