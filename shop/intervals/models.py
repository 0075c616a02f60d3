"""Rules for how often gear must come again: published ones, makers' and the workshop's own."""

from uuid import uuid4

from django.db import models

from shop.catalogue.models import Model
from shop.intervals.rules import Anchor, Limit, Material, Status, Use
from shop.workshop.rules import Kind, pairs, values


class Interval(models.Model):
    """One rule: where it stands, what it asks of which gear, and how sure that is.

    It never changes: another row `replaces` it. It counts once it is in force and its place, if it has one, is followed.
    Empty months, dives and hours: the figure was not found.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    place = models.CharField(max_length=80, blank=True)
    document = models.CharField(max_length=160)
    edition = models.CharField(max_length=60, blank=True)
    section = models.CharField(max_length=60, blank=True)
    clock = models.CharField(max_length=40)
    title = models.CharField(max_length=80)
    kind = models.CharField(max_length=20, blank=True, choices=[(k.value, k.label) for k in Kind])
    model = models.ForeignKey(Model, null=True, on_delete=models.PROTECT, related_name="+")
    specification = models.CharField(max_length=80, blank=True)
    material = models.CharField(max_length=30, blank=True, choices=pairs(Material))
    use = models.CharField(max_length=20, blank=True, choices=pairs(Use))
    oxygen_above = models.PositiveSmallIntegerField(null=True)
    months = models.PositiveIntegerField(null=True)
    dives = models.PositiveIntegerField(null=True)
    hours = models.PositiveIntegerField(null=True)
    grace_days = models.PositiveIntegerField(null=True)
    anchor = models.CharField(max_length=20, choices=pairs(Anchor), default=Anchor.DONE.value)
    month_end = models.BooleanField(default=False)
    words = models.CharField(max_length=300, blank=True)
    source = models.CharField(max_length=200)
    status = models.CharField(max_length=30, choices=pairs(Status))
    replaces = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="replaced_by")
    in_force_at = models.DateTimeField(null=True)
    withdrawn_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["place", "kind", "clock", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(status__in=values(Status)), name="interval_status_known"
            ),
            models.CheckConstraint(
                condition=models.Q(anchor__in=values(Anchor)), name="interval_anchor_known"
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=["", *values(Kind)]), name="interval_kind_known"
            ),
            models.CheckConstraint(
                condition=~models.Q(months=0) & ~models.Q(dives=0) & ~models.Q(hours=0),
                name="interval_not_nought",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title}: {self.called}"

    @property
    def called(self) -> str:
        """The document as people name it."""
        return " ".join(filter(None, [self.document, self.edition, self.section]))

    @property
    def kind_label(self) -> str:
        return Kind(self.kind).label if self.kind else "any gear"

    @property
    def limit(self) -> Limit:
        return Limit(
            self.months, self.dives, self.hours, self.grace_days, self.anchor, month_end=self.month_end
        )

    @property
    def said(self) -> str:
        """What it asks for, in words."""
        return self.limit.said

    @property
    def state(self) -> str:
        if self.withdrawn_at:
            return "withdrawn" if self.in_force_at else "set aside"
        return "in force" if self.in_force_at else "proposed"
