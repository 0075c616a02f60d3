"""Likely causes: advice that the lead keeps."""

from uuid import uuid4

from django.db import models

from shop.advice.rules import SOURCE, Side
from shop.workshop.rules import Kind, values


class Advice(models.Model):
    """What is often behind a pattern; `what` is a quantity, or the key of a test or a function. Withdrawn, never deleted."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    what = models.CharField(max_length=60)
    side = models.CharField(max_length=10, choices=[(each.value, each.label) for each in Side])
    kind = models.CharField(max_length=20, blank=True, choices=[(k.value, k.label) for k in Kind])
    part = models.CharField(max_length=80)
    words = models.CharField(max_length=300)
    source = models.CharField(max_length=200, default=SOURCE)
    withdrawn_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(side__in=values(Side)), name="advice_side_known"),
            models.CheckConstraint(
                condition=models.Q(kind__in=["", *values(Kind)]), name="advice_kind_known"
            ),
            models.UniqueConstraint(
                fields=["what", "side", "kind", "part"],
                condition=models.Q(withdrawn_at=None),
                name="advice_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.get_side_display()}: {self.part}"

    @property
    def kind_label(self) -> str:
        return Kind(self.kind).label if self.kind else "any"
