"""What each method of each address about terms needs, and what the database states of them."""

from typing import Any

from shop.staff.rules import Can
from tests.guards.bodies import SEE, Entry

TERMS = {"text": "Gear that is not collected is asked for in writing."}
ACCEPT = {"how": "on screen", "name": "Maja Lindqvist", "terms": 1}
_ACCEPTING = {
    "GET": Entry(Can.SEE, "drop_off"),
    "POST": Entry(Can.CHECK_IN, "drop_off", body=ACCEPT),
}
TERMS_API: dict[str, dict[str, Entry]] = {
    "terms": {"GET": SEE, "PUT": Entry(Can.KEEP_PEOPLE, body=TERMS)},
    "drop-offs/<uuid:uid>/terms": _ACCEPTING,
}
TERMS_PAGES: dict[str, dict[str, Entry]] = {
    "office/terms": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE, body=TERMS)},
    "drop-offs/<uuid:uid>/terms": _ACCEPTING,
}
TERMS_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    ("terms_n", "terms_terms.n", "terms_terms", {}),
    ("terms_accepted_once", "terms_accepted.drop_off_id, terms_accepted.terms_id", "terms_accepted", {}),
]
TERMS_WRITTEN: list[tuple[str, str, dict[str, Any]]] = [
    ("terms_accepted_how", "terms_accepted", {"how": "by a nod"}),
]
