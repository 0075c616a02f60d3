"""Takeovers: a job that was begun went from one technician to another."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Job
from shop.staff.models import Person


class Takeover(models.Model):
    """Who took a begun job over from whom, on which leg, and in which condition the gear was; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="takeovers")
    leg = models.CharField(max_length=12)
    was = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    now_with = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    condition = models.CharField(max_length=500)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.condition
