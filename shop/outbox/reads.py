"""The outbox as people look at it, and whom to telephone because mail does not reach them."""

from typing import Any

from django.db.models import Count, QuerySet
from django.db.models.functions import Lower

from shop.customers.models import Customer
from shop.outbox.rules import STATES, Shows
from shop.post.models import Letter, Suppressed
from shop.post.rules import folded


def letters(shows: Shows) -> QuerySet[Letter]:
    """Letters by what became of them; their bytes are not read."""
    rows = Letter.objects.defer("body")
    return rows if shows is Shows.ALL else rows.filter(state__in=STATES[shows])


def counts() -> dict[Shows, int]:
    """How many letters there are of each."""
    by_state = dict(Letter.objects.values_list("state").annotate(n=Count("pk")))
    return {shows: sum(by_state.get(each, 0) for each in states) for shows, states in STATES.items()}


def suppressed() -> QuerySet[Suppressed]:
    """The addresses that nothing goes to now."""
    return Suppressed.objects.filter(lifted_at=None).select_related("letter").defer("letter__body")


def owners(rows: list[Suppressed]) -> list[tuple[Suppressed, list[Customer]]]:
    """Suppressed addresses with the customers who can only be telephoned."""
    known: dict[str, list[Customer]] = {}
    reached = Customer.objects.annotate(folded=Lower("email")).filter(
        merged_into=None, folded__in=[row.address for row in rows]
    )
    for customer in reached.order_by("number"):
        known.setdefault(folded(customer.email), []).append(customer)
    return [(row, known.get(row.address, [])) for row in rows]


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """That mail does not reach a customer, where that is so."""
    row = suppressed().filter(address=folded(customer.email)).first() if customer.email else None
    return "outbox/panel.html", {"row": row}
