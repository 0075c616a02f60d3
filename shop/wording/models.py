"""A workshop's own wording of letters; the shipped ones are files of the house."""

from django.db import models

from shop.wording.rules import MOST_SUBJECT, Key
from shop.workshop.rules import Language, pairs, values


class OwnWording(models.Model):
    """The own words of a letter in a language; empty once the shipped ones are used again, so that versions go on."""

    key = models.CharField(max_length=20, choices=pairs(Key))
    language = models.CharField(max_length=2, choices=pairs(Language))
    subject = models.CharField(max_length=MOST_SUBJECT, blank=True)
    text = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["key", "language"], name="wording_once"),
            models.CheckConstraint(condition=models.Q(key__in=values(Key)), name="wording_key_known"),
            models.CheckConstraint(
                condition=models.Q(language__in=values(Language)), name="wording_language_known"
            ),
            models.CheckConstraint(
                condition=models.Q(subject="", text="") | ~models.Q(subject="") & ~models.Q(text=""),
                name="wording_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} in {self.language}"
