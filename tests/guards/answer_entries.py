"""What each method of each address of private links, answers and bookings needs."""

from datetime import date
from typing import Any
from uuid import uuid4

from shop.links.models import Link
from shop.links.rules import LinkFor, digest_of
from shop.staff.rules import Can
from shop.workshop.reads import noon, now
from tests.conftest import House
from tests.guards.bodies import Entry

SECRET = "a-private-link-of-the-guards"
KEEP = Can.KEEP_CUSTOMERS

ANSWERS_API: dict[str, dict[str, Entry]] = {
    "customers/<uuid:uid>/links": {"GET": Entry(Can.SEE, "customer")},
    "customers/<uuid:uid>/links/revoke": {"POST": Entry(KEEP, "customer")},
}
ANSWER_PAGES: dict[str, dict[str, Entry]] = {
    "customers/<uuid:uid>/links/revoke": {
        "GET": Entry(Can.SEE, "customer"),
        "POST": Entry(KEEP, "customer"),
    },
}
# Constraints: what is written once more, and what a row is changed to.
ANSWER_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    ("links_link_digest", "links_link.digest", "links_link", {}),
]
ANSWER_CONSTRAINTS: list[tuple[str, str, dict[str, Any]]] = [
    ("link_purpose_known", "links_link", {"purpose": "sale"}),
]


def answer_rows(house: House) -> dict[str, Any]:
    """A private link whose secret is known."""
    given: dict[str, Any] = {"customer": house.customer, "about": uuid4(), "made_at": now()}
    ends = noon(date(2199, 1, 1))
    link = Link.objects.create(purpose=LinkFor.ANSWER, digest=digest_of(SECRET), ends_at=ends, **given)
    return {"link": link}
