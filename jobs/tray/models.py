"""What became of each loose part of a round."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Round
from jobs.tray.rules import OVERRIDES, Ending, Origin
from shop.alternatives.models import Alternative
from shop.gases.rules import Gas
from shop.staff.models import Person
from shop.stock.models import Movement
from shop.workshop.rules import pairs, values


class TrayPart(models.Model):
    """What became of one loose part of a round, and where the part that goes back in is from; append-only.

    A part that was scrapped, missing or lost may get a second row once there is something to put in its place.
    What was taken from a lot keeps the `gas` of the gear and by which rule that was found; `overridden` has the codes of
    the refusals that whoever recorded it overrode with the second person, `override` says why. What was taken as an `alternative` has its condition acknowledged. A row that was wrong stays:
    another `corrects` it and says `why`. `n` counts the rows of a part within one pass.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="tray")
    key = models.CharField(max_length=90)
    backs = models.PositiveIntegerField()
    n = models.PositiveIntegerField()
    count = models.PositiveIntegerField()
    ending = models.CharField(max_length=20, choices=pairs(Ending))
    origin = models.CharField(max_length=20, choices=pairs(Origin))
    movement = models.OneToOneField(Movement, null=True, on_delete=models.PROTECT, related_name="+")
    gas = models.CharField(max_length=12, blank=True, choices=pairs(Gas))
    gas_rule = models.CharField(max_length=120, blank=True)
    overridden = models.CharField(max_length=60, blank=True)
    override = models.CharField(max_length=300, blank=True)
    alternative = models.ForeignKey(Alternative, null=True, on_delete=models.PROTECT, related_name="+")
    corrects = models.OneToOneField("self", null=True, on_delete=models.PROTECT, related_name="corrected_by")
    why = models.CharField(max_length=200, blank=True)
    words = models.CharField(max_length=300, blank=True)
    second = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    authorisation = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["round", "key", "backs", "n"], name="tray_part_once_a_pass"),
            models.CheckConstraint(
                condition=models.Q(corrects=None, why="")
                | (models.Q(corrects__isnull=False) & ~models.Q(why="")),
                name="tray_corrected_why",
            ),
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
            models.CheckConstraint(
                condition=(models.Q(movement__isnull=False, gas__in=values(Gas)) & ~models.Q(gas_rule=""))
                | models.Q(movement__isnull=True, gas="", gas_rule=""),
                name="tray_taken_for_a_gas",
            ),
            models.CheckConstraint(
                condition=models.Q(alternative=None) | models.Q(movement__isnull=False),
                name="tray_alternative_from_a_lot",
            ),
            models.CheckConstraint(
                condition=models.Q(overridden="", override="")
                | (
                    models.Q(movement__isnull=False, second__isnull=False)
                    & ~models.Q(overridden="")
                    & ~models.Q(override="")
                    & ~models.Q(second=models.F("recorded_by"))
                ),
                name="tray_override_before_two",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.ending}"

    @property
    def told(self) -> str:
        """How it ended and what went in, to be read."""
        went_in = f"from lot {self.movement.lot.number}" if self.movement else ""
        return ", ".join(
            filter(None, [self.ending, went_in or (self.origin if self.ending != "reused" else "")])
        )

    @property
    def overrode(self) -> tuple[str, ...]:
        """The codes of the refusals that were overridden."""
        return tuple(filter(None, self.overridden.split(", ")))

    @property
    def overridden_words(self) -> str:
        """What was overridden, in words."""
        return ", ".join(OVERRIDES[code] for code in self.overrode)
