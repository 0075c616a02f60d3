"""What became of what notices match, every answer; and how far the letters of a notice are."""

from uuid import uuid4

from django.db import models

from jobs.flow.models import Job
from jobs.matches.rules import Became
from jobs.safety.models import Match, Notice
from shop.staff.models import Person
from shop.workshop.rules import pairs, values


class Answer(models.Model):
    """What became of a match; a later one `corrects` the one before, and all are kept. Append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    match = models.ForeignKey(Match, on_delete=models.PROTECT, related_name="answers")
    became = models.CharField(max_length=20, choices=pairs(Became))
    job = models.ForeignKey(Job, null=True, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=500)
    corrects = models.OneToOneField("self", null=True, on_delete=models.PROTECT, related_name="corrected_by")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["match"], condition=models.Q(corrects__isnull=True), name="match_answered_first_once"
            ),
            models.CheckConstraint(condition=models.Q(became__in=values(Became)), name="match_answer_known"),
            models.CheckConstraint(
                condition=models.Q(became=Became.RIGHT.value, job__isnull=False)
                | (~models.Q(became=Became.RIGHT.value) & models.Q(job__isnull=True)),
                name="match_put_right_by_a_job",
            ),
            models.CheckConstraint(condition=~models.Q(words=""), name="match_answered_in_words"),
        ]

    def __str__(self) -> str:
        return f"{self.became}: {self.words}"


class Writing(models.Model):
    """How far the letters of a notice are, by the key of the last owner; it is the queue while they are `wanted`."""

    notice = models.OneToOneField(Notice, on_delete=models.PROTECT, related_name="writing")
    wanted = models.BooleanField(default=True)
    written = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"letters of {self.notice_id} to {self.written}"
