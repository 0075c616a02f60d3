"""Steps that were done."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Round
from shop.instruments.models import Instrument
from shop.staff.models import Person


class StepDone(models.Model):
    """One step of a round, or why it was omitted: done at/by beside recorded at/by; the authorisation as it was judged then; append-only.

    `backs` is how often the job had gone back by then: going back to the step's leg makes it be done again.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="steps")
    key = models.CharField(max_length=90)
    backs = models.PositiveIntegerField()
    counted = models.PositiveIntegerField(null=True)
    torque_n_m = models.CharField(max_length=10, blank=True)
    omitted = models.CharField(max_length=300, blank=True)
    noted = models.CharField(max_length=200, blank=True)
    wrench = models.ForeignKey(Instrument, null=True, on_delete=models.PROTECT, related_name="+")
    authorisation = models.CharField(max_length=200)
    done_at = models.DateTimeField()
    done_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["round", "key", "backs"], name="step_once_a_pass")]

    def __str__(self) -> str:
        return self.key
