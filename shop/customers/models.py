"""Customers: people and organisations."""

from uuid import uuid4

from django.db import models

from shop.workshop.rules import Language, pairs, values


class Customer(models.Model):
    """Whoever owns, brings, pays for or collects gear; `ours`: the workshop itself, as the owner of loan and rental gear.

    `postal`: where they live, a line each, as estimates and bills print it. `fewer`: one reminder for each due date is enough.
    """

    PERSON, ORGANISATION = "person", "organisation"
    TOLD = ("name", "email", "phone", "postal")  # what the words of the journal tell of them

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.PositiveIntegerField(unique=True)
    kind = models.CharField(max_length=12, choices=[(PERSON, PERSON), (ORGANISATION, ORGANISATION)])
    name = models.CharField(max_length=160)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=20, blank=True)
    postal = models.CharField(max_length=300, blank=True)
    language = models.CharField(max_length=2, choices=pairs(Language), default=Language.EN.value)
    reminders = models.BooleanField()
    fewer = models.BooleanField(default=False)
    ours = models.BooleanField(default=False)
    # Always the last one of a chain: a merge turns those that were merged before as well.
    merged_into = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="merged")
    # The number is all that is left of whoever was erased: the name says so, and how to reach them is gone.
    erased_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        indexes = [
            models.Index(fields=["name"]),
            models.Index(fields=["phone"], name="customers_by_phone"),
            models.Index(fields=["email"], name="customers_by_email"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=["person", "organisation"]), name="customer_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(language__in=values(Language)), name="customer_language_known"
            ),
            models.CheckConstraint(
                condition=~models.Q(merged_into=models.F("id")), name="customer_not_into_itself"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def kept(self) -> "Customer":
        """The customer who is worked with: this one, or the one they were merged into."""
        return self.merged_into or self

    @property
    def language_label(self) -> str:
        return Language(self.language).label

    @property
    def label(self) -> str:
        return f"K-{self.number:04d}"
