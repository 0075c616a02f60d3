"""Parts, their lots, the bins where these lie, and every movement of a lot."""

from uuid import uuid4

from django.db import models

from shop.gases.rules import STATEMENTS, fit_words
from shop.stock.rules import Verb, bin_code, lot_code
from shop.workshop.rules import Unit, in_unit, pairs, values


class Part(models.Model):
    """A stocked part; its life is counted in months from the end of the cure quarter, None when not limited.

    `life_rule` is the key of the published rule that its life is from, empty for one of the maker's or of our own. It is to
    be ordered, `up_to` so many, once no more than its `minimum` is left in life; None where nobody watches it.
    `fit_for` holds the gas services that `fit_source` states it to be fit for; empty where none is stated.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    maker = models.CharField(max_length=80, blank=True)
    unit = models.CharField(max_length=12)
    material = models.CharField(max_length=40, blank=True)
    life_months = models.PositiveIntegerField(null=True)
    life_source = models.CharField(max_length=200, blank=True)
    life_rule = models.CharField(max_length=20, blank=True)
    size = models.CharField(max_length=40, blank=True)
    hardness = models.CharField(max_length=20, blank=True)
    minimum = models.PositiveIntegerField(null=True)
    up_to = models.PositiveIntegerField(null=True)
    fit_for = models.CharField(max_length=40, blank=True)
    fit_source = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(minimum__isnull=True, up_to__isnull=True)
                | models.Q(up_to__gt=models.F("minimum")),
                name="part_ordered_above_its_minimum",
            ),
            models.CheckConstraint(condition=models.Q(unit__in=values(Unit)), name="part_unit_known"),
            models.CheckConstraint(condition=models.Q(fit_for__in=STATEMENTS), name="part_fit_known"),
            models.CheckConstraint(
                condition=models.Q(fit_for="", fit_source="")
                | (~models.Q(fit_for="") & ~models.Q(fit_source="")),
                name="part_fit_with_its_source",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"

    @property
    def lies_here(self) -> bool:
        """Whether something of any of its lots is on hand."""
        return any(lot.on_hand for lot in self.lots.all())

    @property
    def fitness(self) -> str:
        """For which gas it is fit, in a sentence."""
        return fit_words(self.fit_for)


class Content(models.Model):
    """What a maker's bagged kit holds: so many pieces of another part."""

    kit = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="contents")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="in_kits")
    count = models.PositiveIntegerField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["kit", "part"], name="content_once"),
            models.CheckConstraint(condition=~models.Q(kit=models.F("part")), name="content_of_another"),
            models.CheckConstraint(condition=models.Q(count__gt=0), name="content_of_something"),
        ]

    def __str__(self) -> str:
        of = (
            f"{self.count} ×" if self.part.unit == Unit.PIECE else f"{in_unit(self.count, self.part.unit)} of"
        )
        return f"{of} {self.part.number}"


class Lot(models.Model):
    """A received batch of a part; `use_by` is the maker's own last day, `extended` that its life was once extended."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="lots")
    number = models.CharField(max_length=60)
    cured = models.CharField(max_length=10, blank=True)
    use_by = models.DateField(null=True)
    extended = models.BooleanField(default=False)
    good_to = models.DateField(null=True)
    on_hand = models.IntegerField(default=0)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["part", "number"], name="lot_once"),
            models.CheckConstraint(condition=models.Q(on_hand__gte=0), name="lot_not_below_zero"),
            models.CheckConstraint(
                condition=models.Q(use_by__isnull=True) | models.Q(good_to__lte=models.F("use_by")),
                name="lot_not_beyond_its_maker",
            ),
        ]

    def __str__(self) -> str:
        return f"lot {self.number}"

    @property
    def dated(self) -> str:
        """How old it is by its bag, for a refusal."""
        own = f" and the maker's date {self.use_by.isoformat()}" if self.use_by else ""
        return f"with cure quarter {self.cured or 'unknown'}{own}"

    @property
    def code(self) -> str:
        """The workshop's own, on its label: the maker's number may stand on lots of several parts."""
        return lot_code(self.pk)

    @property
    def places(self) -> "list[Stored]":
        """Where its pieces lie, the fullest bin first."""
        return [each for each in self.stored.all() if each.on_hand]


class Bin(models.Model):
    """A place where lots lie, at a site of the workshop."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    site = models.CharField(max_length=60)
    label = models.CharField(max_length=40)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["site", "label"], name="bin_once")]

    def __str__(self) -> str:
        return f"{self.label} ({self.site})"

    @property
    def code(self) -> str:
        """What its label says to a scanner."""
        return bin_code(self.pk)


class Stored(models.Model):
    """How many pieces of a lot lie in a bin; only triggers write it, as they do the lot's own sum."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="stored")
    bin = models.ForeignKey(Bin, on_delete=models.PROTECT, related_name="stored")
    on_hand = models.IntegerField()

    class Meta:
        ordering = ["-on_hand", "bin"]
        constraints = [
            models.UniqueConstraint(fields=["lot", "bin"], name="stored_once"),
            models.CheckConstraint(condition=models.Q(on_hand__gte=0), name="stored_not_below_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.on_hand} in {self.bin_id}"


class Movement(models.Model):
    """A quantity of a lot that came to a bin or went from it; the sum of a lot's movements is what is on hand.

    A count is the difference that it found, which may be none; a move to another bin is two movements. `effective_on` is the
    day it counts from; `takes_back` is the receipt that was wrong; `cost`, in the smallest unit of the currency, what all its pieces cost, None where that is not known.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="movements")
    bin = models.ForeignKey(Bin, on_delete=models.PROTECT, related_name="movements")
    verb = models.CharField(max_length=10, choices=pairs(Verb))
    quantity = models.IntegerField()
    subject = models.CharField(max_length=80, blank=True)
    takes_back = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="taken_back_by"
    )
    effective_on = models.DateField()
    cost = models.PositiveBigIntegerField(null=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=40)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(verb__in=("receive", "return"), quantity__gt=0)
                | models.Q(verb__in=("take", "scrap", "take back"), quantity__lt=0)
                | (models.Q(verb="move") & ~models.Q(quantity=0))
                | models.Q(verb="count"),
                name="movement_sign",
            ),
            models.CheckConstraint(
                condition=models.Q(verb="take back", takes_back__isnull=False)
                | (~models.Q(verb="take back") & models.Q(takes_back=None)),
                name="movement_takes_back_a_receipt",
            ),
            models.CheckConstraint(
                condition=models.Q(cost=None) | models.Q(verb="receive"), name="movement_cost_of_a_receipt"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.verb} {self.quantity}"

    @property
    def said_quantity(self) -> str:
        """With its sign; a count that found what was there moved nothing."""
        return f"{self.quantity:+d}" if self.quantity else "0"

    @property
    def said(self) -> str:
        """What it was for, to be read; a job's own page says which job."""
        kind, _, rest = self.subject.partition(":")
        return {"job": "a job", "kit": "out of a kit", "order": "an order"}.get(kind, rest or kind)
