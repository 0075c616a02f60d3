"""The workshop's terms in all their versions, and who accepted which for a drop-off."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import DropOff
from jobs.terms.rules import How
from shop.staff.models import Person
from shop.workshop.rules import pairs, values


class Terms(models.Model):
    """The terms from then on, in the workshop's own words; empty where none are asked for any more; append-only."""

    n = models.PositiveIntegerField(default=0)
    text = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["n"], name="terms_n")]

    def __str__(self) -> str:
        return f"terms, version {self.n}"

    @property
    def version(self) -> int:
        return self.n


class Accepted(models.Model):
    """Somebody accepted the terms for a drop-off, by their own name; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="accepted")
    terms = models.ForeignKey(Terms, on_delete=models.PROTECT, related_name="accepted")
    how = models.CharField(max_length=16, choices=pairs(How))
    name = models.CharField(max_length=160)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["drop_off", "terms"], name="terms_accepted_once"),
            models.CheckConstraint(condition=models.Q(how__in=values(How)), name="terms_accepted_how"),
        ]

    def __str__(self) -> str:
        return f"{self.terms}, accepted {self.how}"
