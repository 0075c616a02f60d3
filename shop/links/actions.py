"""Make private links, and take those of a customer back."""

from collections.abc import Sequence
from secrets import token_urlsafe
from uuid import UUID

from django.conf import settings
from django.db import transaction

from shop.customers.models import Customer
from shop.journal.actions import write
from shop.links.models import Link
from shop.links.reads import living
from shop.links.rules import HOLDS, Wanted, address_of, digest_of
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse


def make_links(*, wanted: Sequence[Wanted]) -> list[str]:
    """Make links in the caller's transaction; their absolute addresses, in order, for their letter alone: no page shows them again."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("Links are made in the transaction of the action only.")
    made_at, secrets = now(), [token_urlsafe(32) for _ in wanted]
    Link.objects.bulk_create(
        [
            Link(
                customer=each.customer,
                purpose=each.purpose,
                about=each.about,
                digest=digest_of(secret),
                made_at=made_at,
                ends_at=made_at + HOLDS[each.purpose],
            )
            for each, secret in zip(wanted, secrets, strict=True)
        ]
    )
    pairs = zip(wanted, secrets, strict=True)
    return [address_of(settings.BASE_URL, each.purpose, secret) for each, secret in pairs]


def revoke_links(*, by: Person, customer: Customer) -> int:
    """Every private link of a customer ends at once; how many did."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        ended = end_links(by=by, customer=customer)
        refuse([] if ended else [Refusal("no-links", "No private link of theirs is open.")])
    return ended


def end_links(*, by: Person, customer: Customer, about: UUID | None = None) -> int:
    """End the open links of a customer whom the caller has locked, as when another e-mail address is theirs; how many.

    `about`: only those about one drop-off.
    """
    rows = living(customer) if about is None else living(customer).filter(about=about)
    ended = rows.update(revoked_at=now())
    if ended:
        facts = {"links": ended} | ({"about": str(about)} if about else {})
        write(subject=f"customer:{customer.uid}", by=str(by.uid), verb="private links ended", facts=facts)
    return ended
