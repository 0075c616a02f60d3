"""Photographs that were shared with a customer, and what customers ask by the link of a drop-off."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import DropOff
from shop.files.models import Photograph
from shop.links.models import Link
from shop.staff.models import Person


class Shared(models.Model):
    """One photograph that a customer sees under the link of a drop-off, as number `n`; taken back, it ends and keeps its number."""

    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="shared")
    n = models.PositiveIntegerField()
    photograph = models.ForeignKey(Photograph, on_delete=models.PROTECT, related_name="shared")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["drop_off", "n"], name="shared_n"),
            models.UniqueConstraint(
                fields=["photograph"], condition=models.Q(ended_at=None), name="shared_once"
            ),
            models.CheckConstraint(
                condition=models.Q(ended_at=None, ended_by=None)
                | models.Q(ended_at__isnull=False, ended_by__isnull=False),
                name="shared_ended_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"photograph {self.n} of drop-off {self.drop_off_id}"


class Question(models.Model):
    """What a customer asked by a link, and what was answered once; both are people's words, which erasure may empty."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    drop_off = models.ForeignKey(DropOff, on_delete=models.PROTECT, related_name="questions")
    link = models.ForeignKey(Link, on_delete=models.PROTECT, related_name="questions")
    text = models.TextField()
    at = models.DateTimeField()
    answer = models.TextField(blank=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(answer="", answered_at=None, answered_by=None)
                | models.Q(answered_at__isnull=False, answered_by__isnull=False),
                name="question_answered_by_somebody",
            )
        ]
        indexes = [
            models.Index(
                fields=["drop_off"], condition=models.Q(answered_at=None), name="porthole_question_open"
            )
        ]

    def __str__(self) -> str:
        return f"question of drop-off {self.drop_off_id}"
