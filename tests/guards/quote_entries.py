"""What each method of each address of amounts that are put to customers needs."""

from datetime import date
from typing import Any

from jobs.flow.models import DropOff
from jobs.quotes.actions import put_quote
from shop.links.models import Link
from shop.links.rules import LinkFor, digest_of
from shop.staff.rules import Can
from shop.workshop.reads import noon, now
from tests.guards.bodies import Entry

ASKED = "a-go-ahead-of-the-guards"
TAKE = Can.TAKE_GO_AHEAD
AMOUNT = {"amount": "700.00"}
AGREED = {"answer": "agreed", "seen": 1}
MORE = AGREED | {"agreed": 50000, "went_back": "put back together"}

QUOTES_API: dict[str, dict[str, Entry]] = {
    "drop-offs/<uuid:uid>/quotes": {
        "GET": Entry(Can.SEE, "priced"),
        "POST": Entry(TAKE, "priced", body=AMOUNT),
    },
    "quotes/<uuid:uid>/withdraw": {"POST": Entry(TAKE, "quote")},
}
QUOTE_PAGES: dict[str, dict[str, Entry]] = {
    "porthole/<slug:secret>/go-ahead": {
        "GET": Entry(public=True, key=ASKED),
        "POST": Entry(public=True, key=ASKED, body=AGREED),
    },
    "porthole/<slug:secret>/more/<int:n>": {
        "GET": Entry(public=True, key=f"{ASKED}/4"),
        "POST": Entry(public=True, key=f"{ASKED}/4", body=MORE),
    },
    "drop-offs/<uuid:uid>/quote": {
        "GET": Entry(Can.SEE, "priced"),
        "POST": Entry(TAKE, "priced", body=AMOUNT),
    },
    "quotes/<uuid:uid>/withdraw": {"GET": Entry(Can.SEE, "quote"), "POST": Entry(TAKE, "quote")},
}
ENDED = "2026-11-27 12:00:00+00:00"
QUOTE_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    (
        "quote_n",
        "quotes_quote.drop_off_id, quotes_quote.n",
        "quotes_quote",
        {"became": "withdrawn", "ended_at": ENDED},
    ),
    ("quote_one_open_a_drop_off", "quotes_quote.drop_off_id", "quotes_quote", {"n": 9001}),
]
QUOTE_CONSTRAINTS: list[tuple[str, str, dict[str, Any]]] = [
    ("quote_became_known", "quotes_quote", {"became": "lost"}),
    ("quote_ended_as_it_became", "quotes_quote", {"became": "agreed", "ended_at": ENDED}),
    ("quote_ended_as_it_became", "quotes_quote", {"ended_at": ENDED}),
    ("quote_ended_as_it_became", "quotes_quote", {"became": "withdrawn"}),
]
QUOTE_WRITTEN: list[tuple[str, str, dict[str, Any]]] = [
    ("goahead_by_somebody", "estimates_goahead", {"by_id": None}),
    ("goahead_by_somebody", "estimates_goahead", {"how": "by link"}),
]


def quote_rows(by: Any, drop_off: DropOff) -> dict[str, Any]:
    """A link to a drop-off whose secret is known, and an amount that was put to its customer."""
    given: dict[str, Any] = {"customer": drop_off.customer, "about": drop_off.uid, "made_at": now()}
    ends = noon(date(2199, 1, 1))
    Link.objects.create(purpose=LinkFor.PORTHOLE, digest=digest_of(ASKED), ends_at=ends, **given)
    return {"quote": put_quote(by=by, drop_off=drop_off, amount=60000)}
