"""What became of each loose part of a round."""

from django.db import models

from jobs.flow.models import Round
from jobs.tray.rules import Ending
from shop.staff.models import Person
from shop.stock.models import Movement
from shop.workshop.rules import pairs


class TrayPart(models.Model):
    """One loose part of a round that was accounted for, with the movement of the lot that renewed it."""

    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="tray")
    key = models.CharField(max_length=40)
    count = models.PositiveIntegerField()
    ending = models.CharField(max_length=10, choices=pairs(Ending))
    movement = models.OneToOneField(Movement, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["round", "key"], name="tray_part_once"),
            models.CheckConstraint(
                condition=models.Q(ending="reused", movement__isnull=True)
                | models.Q(ending="renewed", movement__isnull=False),
                name="tray_renewed_from_a_lot",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.ending}"
