"""What became of each loose part of a round."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Round
from jobs.tray.rules import Ending
from shop.staff.models import Person
from shop.stock.models import Movement
from shop.workshop.rules import pairs


class TrayPart(models.Model):
    """One loose part of a round that was accounted for, with the movement of the lot that renewed it; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="tray")
    key = models.CharField(max_length=90)
    backs = models.PositiveIntegerField()
    count = models.PositiveIntegerField()
    ending = models.CharField(max_length=10, choices=pairs(Ending))
    movement = models.OneToOneField(Movement, null=True, on_delete=models.PROTECT, related_name="+")
    authorisation = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["round", "key", "backs"], name="tray_part_once_a_pass"),
            models.CheckConstraint(
                condition=models.Q(ending="reused", movement__isnull=True)
                | models.Q(ending="renewed", movement__isnull=False),
                name="tray_renewed_from_a_lot",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.ending}"
