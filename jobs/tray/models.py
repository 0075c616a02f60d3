"""What became of each loose part of a round."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Round
from jobs.tray.rules import Ending, Origin
from shop.staff.models import Person
from shop.stock.models import Movement
from shop.workshop.rules import pairs, values


class TrayPart(models.Model):
    """What became of one loose part of a round, and where the part that goes back in is from; append-only.

    A part that was scrapped, missing or lost may get a second row once there is something to put in its place.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="tray")
    key = models.CharField(max_length=90)
    backs = models.PositiveIntegerField()
    count = models.PositiveIntegerField()
    ending = models.CharField(max_length=20, choices=pairs(Ending))
    origin = models.CharField(max_length=20, choices=pairs(Origin))
    movement = models.OneToOneField(Movement, null=True, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=300, blank=True)
    second = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    authorisation = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["round", "key", "backs", "origin"], name="tray_part_once_a_pass"),
            models.CheckConstraint(condition=models.Q(ending__in=values(Ending)), name="tray_ending_known"),
            models.CheckConstraint(condition=models.Q(origin__in=values(Origin)), name="tray_origin_known"),
            models.CheckConstraint(
                condition=models.Q(origin="stock", movement__isnull=False)
                | (~models.Q(origin="stock") & models.Q(movement__isnull=True)),
                name="tray_renewed_from_a_lot",
            ),
            models.CheckConstraint(
                condition=(models.Q(ending="reused") & models.Q(origin="itself"))
                | (~models.Q(ending="reused") & ~models.Q(origin="itself")),
                name="tray_reused_is_itself",
            ),
            models.CheckConstraint(
                condition=~models.Q(ending="renewed") | ~models.Q(origin="nothing yet"),
                name="tray_renewed_with_something",
            ),
            models.CheckConstraint(
                condition=~models.Q(ending="lost")
                | (models.Q(second__isnull=False) & ~models.Q(second=models.F("by"))),
                name="tray_lost_before_two",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.ending}"
