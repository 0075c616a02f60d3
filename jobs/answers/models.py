"""What customers answered by private links, and what the counter made of it."""

from uuid import uuid4

from django.db import models

from jobs.answers.rules import AT_ONCE, GONE, Said
from shop.clocks.models import Clock
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.links.models import Link
from shop.staff.models import Person
from shop.workshop.rules import pairs, values

_ABOUT = {"clock__isnull": True, "day__isnull": True, "elsewhere": "", "item__isnull": True}


class Answer(models.Model):
    """One answer of a customer; append-only. `day` and `elsewhere`: when and by whom it was done."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="answers")
    link = models.ForeignKey(Link, on_delete=models.PROTECT, related_name="answers")
    said = models.CharField(max_length=20, choices=pairs(Said))
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="answers")
    clock = models.ForeignKey(Clock, null=True, on_delete=models.PROTECT, related_name="answers")
    day = models.DateField(null=True)
    elsewhere = models.CharField(max_length=120, blank=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(said=Said.ELSEWHERE.value, clock__isnull=False, day__isnull=False)
                | models.Q(**_ABOUT | {"said__in": values(GONE), "item__isnull": False})
                | models.Q(**_ABOUT | {"said__in": [Said.ADDRESS.value, Said.FEWER.value, Said.NONE.value]}),
                name="letter_answer_of_its_kind",
            )
        ]

    def __str__(self) -> str:
        return f"{self.said} of {self.customer_id}"

    @property
    def became(self) -> str:
        """What was made of it."""
        if self.said in AT_ONCE:
            return "done at once"
        return str(self.settled) if hasattr(self, "settled") else "waits"

    @property
    def subject(self) -> str:
        """What its files are of."""
        return f"answer:{self.uid}"


class NewAddress(models.Model):
    """The other address that an answer names; apart from it, because erasure may empty it."""

    answer = models.OneToOneField(Answer, on_delete=models.PROTECT, related_name="new_address")
    email = models.EmailField(blank=True)

    def __str__(self) -> str:
        return f"address of answer {self.answer_id}"


class Settled(models.Model):
    """What the counter made of an answer: confirmed, which did it, or set aside; append-only."""

    answer = models.OneToOneField(Answer, on_delete=models.PROTECT, related_name="settled")
    confirmed = models.BooleanField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return "confirmed" if self.confirmed else "set aside"
