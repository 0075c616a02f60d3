"""Whose a secret is, and which links of a customer are open."""

from hmac import compare_digest
from typing import Any

from django.db.models import Q, QuerySet

from shop.customers.models import Customer
from shop.links.models import Link
from shop.links.rules import digest_of
from shop.workshop.reads import now

NOBODY = "0" * 64


def link_of(secret: str) -> Link | None:
    """The link of a secret; None alike for one that is unknown, too old or taken back.

    It is found by its digest, which tells nothing of the secret, and what was found is compared in constant time.
    """
    asked = digest_of(secret)
    row = Link.objects.select_related("customer__merged_into").filter(digest=asked).first()
    same = compare_digest(row.digest if row else NOBODY, asked)
    return row if row and same and row.revoked_at is None and now() < row.ends_at else None


def living(customer: Customer) -> QuerySet[Link]:
    """The open links of a customer, those of whoever was merged into them too."""
    whose = Q(customer=customer) | Q(customer__merged_into=customer)
    return Link.objects.filter(whose, revoked_at=None, ends_at__gt=now())


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """How many links are open."""
    return "links/customer_panel.html", {"open": living(customer).count(), "customer": customer}
