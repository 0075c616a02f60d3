"""What is looked at when gear of a kind is taken in, in versions; and what was seen of each piece, by whom and when."""

from uuid import uuid4

from django.db import models

from jobs.condition.rules import Said
from jobs.flow.models import Line
from shop.staff.models import Person
from shop.workshop.rules import Kind, pairs, values


class ConditionList(models.Model):
    """What is looked at on gear of a kind from then on; empty where nothing is asked any more; append-only.

    Version 0 of each list is no row: it comes with the house.
    """

    kind = models.CharField(max_length=20, choices=[(each.value, each.label) for each in Kind])
    n = models.PositiveIntegerField(default=0)
    text = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "n"], name="condition_list_n"),
            models.CheckConstraint(
                condition=models.Q(kind__in=values(Kind)), name="condition_list_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{Kind(self.kind).label}, version {self.n}"

    @property
    def version(self) -> int:
        return self.n

    @property
    def asks(self) -> list[str]:
        """What is looked at, one to a line of the text."""
        return [row for row in self.text.split("\n") if row]

    @property
    def kind_label(self) -> str:
        return Kind(self.kind).label


class Look(models.Model):
    """Somebody went through the list of a piece; append-only. A later look is another row."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="looks")
    n = models.PositiveIntegerField()
    kind = models.CharField(max_length=20, choices=[(each.value, each.label) for each in Kind])
    list_n = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["line", "n"], name="condition_look_n"),
            models.CheckConstraint(
                condition=models.Q(kind__in=values(Kind)), name="condition_look_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"look {self.n}"

    def said(self, said: str) -> "list[Answer]":
        """The lines that were answered so, in their order."""
        return [each for each in self.answers.all() if each.said == said]

    @property
    def seen(self) -> "list[Answer]":
        return self.said(Said.SEEN)

    @property
    def fine(self) -> "list[Answer]":
        return self.said(Said.FINE)

    @property
    def left(self) -> "list[Answer]":
        return self.said(Said.NOT)


class Answer(models.Model):
    """What was answered to one line of a list, in the words that were asked; append-only."""

    of_look = models.ForeignKey(Look, on_delete=models.PROTECT, related_name="answers")
    n = models.PositiveIntegerField()
    words = models.CharField(max_length=120)
    said = models.CharField(max_length=13, choices=pairs(Said))
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["n"]
        constraints = [
            models.UniqueConstraint(fields=["of_look", "n"], name="condition_answer_n"),
            models.CheckConstraint(condition=models.Q(said__in=values(Said)), name="condition_answer_known"),
            models.CheckConstraint(
                condition=models.Q(said="seen") | models.Q(note=""), name="condition_note_of_what_was_seen"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.words} ({self.note})" if self.note else self.words
