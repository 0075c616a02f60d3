"""Files that are brought in, what is wrong with their rows, and what each row made."""

from uuid import uuid4

from django.db import models

from jobs.batches.rules import State, What
from shop.clocks.models import Restart
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.workshop.rules import pairs, values


class Batch(models.Model):
    """One file. The row is the queue: the worker goes on with what is being checked or brought in."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    what = models.CharField(max_length=20, choices=pairs(What))
    name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    encoding = models.CharField(max_length=20)
    columns = models.JSONField()
    mapping = models.JSONField()  # field -> column
    state = models.CharField(max_length=12, choices=pairs(State), default=State.COLUMNS.value)
    rows = models.PositiveIntegerField(default=0)
    passed = models.PositiveIntegerField(
        default=0
    )  # rows of the file that were looked at, from its beginning
    made = models.PositiveIntegerField(default=0)
    bad = models.PositiveIntegerField(default=0)
    alike = models.PositiveIntegerField(default=0)
    at = models.DateTimeField()
    by = models.CharField(max_length=40)
    undone_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["what", "sha256"], condition=models.Q(undone_at=None), name="batch_once_a_file"
            ),
            models.CheckConstraint(condition=models.Q(state__in=values(State)), name="batch_state_known"),
            models.CheckConstraint(
                condition=models.Q(undone_at=None) ^ models.Q(state="undone"), name="batch_undone_once"
            ),
            models.CheckConstraint(
                condition=models.Q(passed__lte=models.F("rows")), name="batch_passed_rows"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what} of {self.name}"


class Upload(models.Model):
    """The file of a batch, kept until its rows are in."""

    batch = models.OneToOneField(Batch, on_delete=models.CASCADE, related_name="upload")
    raw = models.BinaryField()

    def __str__(self) -> str:
        return f"file of {self.batch_id}"


class Finding(models.Model):
    """What a dry run has to say of a row: why it is bad, or a note (whom it looks like) that blocks nothing."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="findings")
    line = models.PositiveIntegerField()
    column = models.CharField(max_length=200, blank=True)
    said = models.CharField(max_length=300)
    bad = models.BooleanField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"line {self.line}, {self.column}: {self.said}"


class Brought(models.Model):
    """What one row of a file made, and the key under which other files of the old system name it."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="brought")
    what = models.CharField(max_length=20, choices=pairs(What))
    line = models.PositiveIntegerField()
    old_key = models.CharField(max_length=80, blank=True)
    customer = models.ForeignKey(Customer, null=True, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="+")
    # None where the clock knew of a later service already.
    restart = models.ForeignKey(Restart, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["batch", "line"], name="brought_once_a_line"),
            models.UniqueConstraint(
                fields=["what", "old_key"], condition=~models.Q(old_key=""), name="brought_once_a_key"
            ),
            models.CheckConstraint(
                condition=models.Q(what="customers", customer__isnull=False, item=None, restart=None)
                | models.Q(what="items", customer=None, item__isnull=False, restart=None)
                | models.Q(what="services", customer=None, item=None),
                name="brought_of_its_kind",
            ),
        ]

    def __str__(self) -> str:
        return f"line {self.line} of {self.batch_id}"
