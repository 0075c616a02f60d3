"""Gear that is kept as evidence: what was written down as it was taken in, and who has had it since."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Hold
from jobs.flow.rules import Where
from shop.staff.models import Person
from shop.workshop.rules import pairs


class Evidence(models.Model):
    """What was written down with an evidence hold; append-only. The hold says why, and who let it go."""

    hold = models.OneToOneField(Hold, on_delete=models.PROTECT, related_name="evidence")
    reference = models.CharField(max_length=160, blank=True)
    found = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.reference or "evidence"


class EvidenceCustody(models.Model):
    """Evidence went from one hand or place to another, its seals looked at; append-only, the newest row holds.

    `giver` and `holder` are offices, capacities and places. Names of people stand in the journal's words, where erasure
    reaches them. `intact` are the seals that are on it from this row on.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    hold = models.ForeignKey(Hold, on_delete=models.PROTECT, related_name="custody")
    n = models.PositiveIntegerField()
    where = models.CharField(max_length=8, choices=[pair for pair in pairs(Where) if pair[0] != Where.GONE])
    giver = models.CharField(max_length=160)
    holder = models.CharField(max_length=160)
    intact = models.CharField(max_length=500, blank=True)
    broken = models.CharField(max_length=500, blank=True)
    why = models.CharField(max_length=300, blank=True)
    done_at = models.DateTimeField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    # Set by a read: the names of people, as long as the journal has them.
    people: str = ""

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["hold", "n"], name="evidencecustody_n"),
            models.CheckConstraint(
                condition=models.Q(where__in=["here", "outside"]), name="evidencecustody_where_known"
            ),
            models.CheckConstraint(
                condition=models.Q(broken="") | ~models.Q(why=""), name="evidencecustody_broken_why"
            ),
        ]

    def __str__(self) -> str:
        return self.holder
