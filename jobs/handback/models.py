"""Hand-backs: which items left with whom."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import DropOff, Job
from shop.staff.models import Person


class HandBack(models.Model):
    """Items of one drop-off that left together with a named collector."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="hand_backs")
    jobs = models.ManyToManyField(Job, related_name="hand_backs")
    collector = models.CharField(max_length=160)
    acknowledged = models.BooleanField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.collector
