"""Loggings: a bench test whose samples come while it is measured. The rows are never deleted."""

from uuid import uuid4

from django.db import models

from jobs.bench.models import Attempt
from jobs.flow.models import Job, Round
from jobs.live.rules import State
from shop.gear.models import Item
from shop.instruments.models import Instrument
from shop.staff.models import Person
from shop.workshop.rules import pairs


class Logging(models.Model):
    """One run of a logger for one test of a job. It ends as an attempt, or is thrown away with a reason.

    `backs` is how often the job had gone back when it began. `columns` is the heading of the file that its chunks make.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="loggings")
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=90)
    phase = models.CharField(max_length=12, choices=[(p, p) for p in ("as received", "final")])
    backs = models.PositiveIntegerField()
    instrument = models.ForeignKey(Instrument, null=True, on_delete=models.PROTECT, related_name="+")
    partner = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="+")
    columns = models.CharField(max_length=60)
    why_again = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=12, choices=pairs(State), default=State.OPEN.value)
    attempt = models.OneToOneField(Attempt, null=True, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=200, blank=True)
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["job", "key"], condition=models.Q(state="open"), name="logging_one_open"
            ),
            models.CheckConstraint(
                condition=models.Q(state="open", attempt=None, reason="", closed_at=None)
                | models.Q(state="ended", attempt__isnull=False, reason="", closed_at__isnull=False)
                | (
                    models.Q(state="thrown away", attempt=None, closed_at__isnull=False)
                    & ~models.Q(reason="")
                ),
                name="logging_closed_how",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key}, {self.state}"


class Chunk(models.Model):
    """Some lines of the file, as they were sent; `samples` and `size` count the logging up to here. Append-only."""

    logging = models.ForeignKey(Logging, on_delete=models.PROTECT, related_name="chunks")
    n = models.PositiveIntegerField()
    lines = models.BinaryField()
    samples = models.PositiveIntegerField()
    size = models.PositiveIntegerField()
    last_s = models.FloatField()
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["logging", "n"], name="chunk_once"),
            models.CheckConstraint(condition=models.Q(n__gte=1), name="chunk_numbered"),
        ]

    def __str__(self) -> str:
        return f"chunk {self.n}"
