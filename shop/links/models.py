"""Private links: the addresses in letters that let their readers answer without an account."""

from django.db import models

from shop.customers.models import Customer
from shop.links.rules import LinkFor
from shop.workshop.rules import pairs, values


class Link(models.Model):
    """One private link of a customer; only the SHA-256 of its secret is kept, `about` is the uid of a letter or a drop-off."""

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="links")
    purpose = models.CharField(max_length=10, choices=pairs(LinkFor))
    about = models.UUIDField()
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(purpose__in=values(LinkFor)), name="link_purpose_known")
        ]
        indexes = [models.Index(fields=["about"], name="links_about")]

    def __str__(self) -> str:
        return f"{self.purpose} of {self.customer_id}, to {self.ends_at}"
