"""Orders, their lines, and what came of them."""

from uuid import uuid4

from django.db import models

from shop.orders.rules import How, State
from shop.staff.models import Person
from shop.stock.models import Movement, Part
from shop.suppliers.models import Offer, Supplier
from shop.workshop.rules import pairs, values


class Order(models.Model):
    """What is asked of one supplier; they have one draft at a time. A closed order says why where not everything came.

    `expected_on` is reckoned as it is sent, None where the lead time is not known. `changes` counts those of the order itself.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.PositiveIntegerField(unique=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    state = models.CharField(max_length=6, choices=pairs(State), default=State.DRAFT.value)
    how = models.CharField(max_length=10, choices=pairs(How), blank=True)
    sent_at = models.DateTimeField(null=True)
    sent_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    expected_on = models.DateField(null=True)
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=200, blank=True)
    changes = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["supplier"], condition=models.Q(state="draft"), name="order_one_draft_a_supplier"
            ),
            models.CheckConstraint(
                condition=models.Q(state="draft", how="", sent_at=None, sent_by=None, expected_on=None)
                | models.Q(
                    state__in=("sent", "closed"),
                    how__in=values(How),
                    sent_at__isnull=False,
                    sent_by__isnull=False,
                ),
                name="order_sent_by_somebody",
            ),
            models.CheckConstraint(
                condition=models.Q(state="closed", closed_at__isnull=False, closed_by__isnull=False)
                | (~models.Q(state="closed") & models.Q(closed_at=None, closed_by=None, reason="")),
                name="order_closed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        return f"Order {self.number}"

    @property
    def version(self) -> int:
        """A draft says what its supplier's offers say, so theirs counts too; neither ever falls."""
        return self.changes + self.supplier.version


class DraftLine(models.Model):
    """So many packs of an offer on a draft; it goes with the sending, when a line that stays takes its place."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="draft_lines")
    offer = models.ForeignKey(Offer, on_delete=models.PROTECT, related_name="draft_lines")
    packs = models.PositiveIntegerField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["order", "offer"], name="draft_line_once"),
            models.CheckConstraint(condition=models.Q(packs__gte=1), name="draft_line_of_packs"),
        ]

    def __str__(self) -> str:
        return f"{self.packs} × {self.offer}"


class Line(models.Model):
    """A line as it was sent, with pack and price of that day; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="lines")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="+")
    number = models.CharField(max_length=40, blank=True)
    packs = models.PositiveIntegerField()
    pack_size = models.PositiveIntegerField()
    price = models.PositiveBigIntegerField(null=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["order", "part"], name="order_line_once"),
            models.CheckConstraint(
                condition=models.Q(packs__gte=1, pack_size__gte=1), name="order_line_of_packs"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} × {self.part}"


class Receipt(models.Model):
    """A movement that brought pieces of a line, and counts until another takes it back; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="receipts")
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="receipt")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.movement} of {self.line}"

    @property
    def taken_back(self) -> bool:
        """Whether another movement took it back."""
        return hasattr(self.movement, "taken_back_by")
