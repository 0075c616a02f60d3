"""The append-only, hash-chained record of who did what, and the words that erasure may empty."""

from django.db import models


class Entry(models.Model):
    """One action on one subject; chained per subject, refused any edit by triggers."""

    subject = models.CharField(max_length=80)
    n = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.CharField(max_length=40)
    verb = models.CharField(max_length=60)
    facts = models.TextField()
    digest = models.CharField(max_length=64)
    previous = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["subject", "n"], name="journal_subject_n")]

    def __str__(self) -> str:
        return f"{self.subject} {self.n}: {self.verb}"


class Words(models.Model):
    """Personal text of one entry with its salt; both are emptied by erasure."""

    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="words")
    salt = models.CharField(max_length=32)
    text = models.TextField()

    def __str__(self) -> str:
        return f"words of {self.entry_id}"
