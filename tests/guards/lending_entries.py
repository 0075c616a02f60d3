"""What each method of each address about loans needs, and what the database states of one."""

from typing import Any

from shop.staff.rules import Can
from tests.guards.bodies import SEE, Entry

LEND = {"borrower": "@other_customer", "until": "2099-01-01", "note": "With its hose."}
BACK = {"condition": "As it went out."}
LENDING_API: dict[str, dict[str, Entry]] = {
    "loans": {"GET": SEE},
    "items/<uuid:uid>/loans": {
        "GET": Entry(Can.SEE, "our_item"),
        "POST": Entry(Can.LEND, "our_item", body=LEND),
    },
    "loans/<uuid:uid>/bring-back": {"POST": Entry(Can.LEND, "loan", body=BACK)},
}
LENDING: dict[str, dict[str, Entry]] = {
    "lent": {"GET": SEE},
    "items/<uuid:uid>/lend": {
        "GET": Entry(Can.SEE, "our_item"),
        "POST": Entry(Can.LEND, "our_item", body=LEND),
    },
    "loans/<uuid:uid>/bring-back": {
        "GET": Entry(Can.SEE, "loan"),
        "POST": Entry(Can.LEND, "loan", body=BACK),
    },
}
# Constraints, each with its table and what its newest row, which is out, is changed to.
LENDING_CONSTRAINTS: list[tuple[str, str, dict[str, Any]]] = [
    ("loan_days", "lending_loan", {"until": "1999-01-01"}),
    ("loan_back_whole", "lending_loan", {"back_on": "2199-01-01"}),
    ("loan_back_whole", "lending_loan", {"condition": "Wet."}),
]
