"""Which part may go in the place of another."""

from uuid import uuid4

from django.db import models

from shop.stock.models import Part


class Alternative(models.Model):
    """Another part that may take a part's place, on which condition and by whose word; until it is ended.

    `supersedes`: the maker gives it in the part's place from now on.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="alternatives")
    other = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="alternative_to")
    condition = models.CharField(max_length=300)
    source = models.CharField(max_length=200)
    supersedes = models.BooleanField(default=False)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "other"], condition=models.Q(ended_at=None), name="alternative_once"
            ),
            models.UniqueConstraint(
                fields=["part"],
                condition=models.Q(supersedes=True, ended_at=None),
                name="alternative_superseded_once",
            ),
            models.CheckConstraint(condition=~models.Q(part=models.F("other")), name="alternative_another"),
            models.CheckConstraint(
                condition=~models.Q(condition="") & ~models.Q(source=""),
                name="alternative_with_its_condition",
            ),
        ]

    def __str__(self) -> str:
        what = "supersedes" if self.supersedes else "is an alternative to"
        return f"{self.other.number} {what} {self.part.number}"

    @property
    def told(self) -> str:
        """What it is, on which condition and by whose word."""
        return f"{self}, on the condition: {self.condition} ({self.source})."
