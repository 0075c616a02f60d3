"""Answers kept so that a request sent twice is done once."""

from django.db import models


class Answer(models.Model):
    """What the first request with a key was answered; unique per person and key, kept a day."""

    person_uid = models.UUIDField()
    key = models.CharField(max_length=100)
    digest = models.CharField(max_length=64)
    claim = models.UUIDField()
    status = models.PositiveSmallIntegerField(null=True)
    body = models.TextField(blank=True)
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person_uid", "key"], name="answer_once")]

    def __str__(self) -> str:
        return f"{self.key}: {self.status}"
