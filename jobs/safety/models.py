"""Safety notices and what each matches. Nothing of them is edited; how far the search is stands apart."""

from functools import cached_property
from uuid import uuid4

from django.db import models

from jobs.safety.rules import Dates, How, Range, Sought, read_range, sought
from shop.catalogue.models import Model
from shop.gear.models import Item
from shop.staff.models import Person
from shop.stock.models import Lot
from shop.workshop.rules import pairs, values


class Notice(models.Model):
    """A notice as it was entered; `ranges` are lines of marks, `lots` each the number of a part and a line of lots.

    It names items by models, ranges or a period (`about_items`), lots by their lines.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    title = models.CharField(max_length=120)
    source = models.CharField(max_length=200)
    words = models.CharField(max_length=2000, blank=True)
    gear_models = models.ManyToManyField(Model, related_name="notices")
    ranges = models.JSONField()
    lots = models.JSONField()
    dates = models.CharField(max_length=30, blank=True, choices=pairs(Dates))
    from_day = models.DateField(null=True)
    to_day = models.DateField(null=True)
    about_items = models.BooleanField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(dates="", from_day__isnull=True, to_day__isnull=True)
                | models.Q(
                    dates__in=values(Dates),
                    from_day__isnull=False,
                    to_day__isnull=False,  # a comparison with nothing is no refusal
                    to_day__gte=models.F("from_day"),
                ),
                name="notice_period",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def subject(self) -> str:
        """Its chain in the journal."""
        return f"notice:{self.uid}"

    @property
    def run(self) -> str:
        """What its letters are marked with: one to a customer."""
        return f"notice:{self.uid.hex}"

    @cached_property
    def sought(self) -> Sought:
        """Its ranges, as keys."""
        return sought_in(self.ranges)

    @property
    def withdrawn(self) -> "Withdrawal | None":
        """Its withdrawal, if it was withdrawn."""
        return getattr(self, "withdrawal", None)


def sought_in(lines: list[str]) -> Sought:
    """Lines that were read before, as keys."""
    return sought(each for line in lines if isinstance(each := read_range(line), Range))


class Withdrawal(models.Model):
    """A notice was withdrawn: it stops nothing any more, its matches and answers stay. Append-only."""

    notice = models.OneToOneField(Notice, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"withdrawn: {self.reason}"


class Look(models.Model):
    """How far the items are looked through for a notice, by key; it is the queue while it is not done."""

    notice = models.OneToOneField(Notice, on_delete=models.PROTECT, related_name="look")
    passed = models.BigIntegerField(default=0)
    last = models.BigIntegerField()
    done_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(passed__lte=models.F("last")), name="look_passed_items")
        ]

    def __str__(self) -> str:
        return f"look of {self.notice_id} at {self.passed}"

    @property
    def percent(self) -> int:
        """How much of the items was looked through."""
        return 100 if self.done_at else 100 * self.passed // max(self.last, 1)


class Match(models.Model):
    """An item or a lot that a notice matches, found once; append-only. There may be very many: no index is kept twice."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    notice = models.ForeignKey(Notice, on_delete=models.PROTECT, related_name="matches", db_index=False)
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="notices")
    lot = models.ForeignKey(Lot, null=True, on_delete=models.PROTECT, related_name="notices", db_index=False)
    how = models.CharField(max_length=40, choices=pairs(How))
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["notice", "item"], name="match_once_an_item"),
            models.UniqueConstraint(
                fields=["lot", "notice"], condition=models.Q(lot__isnull=False), name="match_once_a_lot"
            ),
            models.CheckConstraint(
                condition=models.Q(item__isnull=False, lot__isnull=True)
                | models.Q(item__isnull=True, lot__isnull=False),
                name="match_of_one_thing",
            ),
            models.CheckConstraint(condition=models.Q(how__in=values(How)), name="match_how_known"),
        ]

    def __str__(self) -> str:
        return f"{self.item or self.lot} by notice {self.notice_id}"
