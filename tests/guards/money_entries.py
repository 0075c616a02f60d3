"""What each method of each address about money needs, and the constraints of its tables."""

from typing import Any

from shop.staff.rules import Can
from tests.guards.bodies import PHOTOGRAPH, SEE, WHY, Entry

TAKE, SET = Can.TAKE_GO_AHEAD, Can.KEEP_PLANS
TERMS = {
    "inclusive": True,
    "rounding": "per line",
    "usual": "usual",
    "nudge_days": 3,
    "coin": "0.05",
    "tax_number": "GB 000",
}
RATE = {"name": "reduced", "percent": "5", "from_day": "2026-01-01"}
CHARGE = {"what": "Mouthpiece", "amount": "5.00", "payer": "customer", "discount": "0"}
PRICE = {"plan": "@plan", "payer": "workshop", "discount": "0"}
ASKED = {"what": "A worn seat", "amount": "12.00"}
ANSWERED = {
    "answer": "agreed",
    "amount": "600.00",
    "given_by": "Maja Lindqvist",
    "how": "by telephone",
    "said_on": "2026-01-02",
}
FOR = {"payer": "customer", "discount": "0.10", "reason": "A regular."}
PAID = {"kind": "payment", "amount": "5.00", "way": "card", "on": "2026-01-02"}

MONEY_API: dict[str, dict[str, Entry]] = {
    "reckoning": {"GET": SEE, "POST": Entry(SET, body=TERMS)},
    "tax-rates": {"GET": SEE, "POST": Entry(SET, body=RATE)},
    "drop-offs/<uuid:uid>/estimate": {"GET": Entry(Can.SEE, "priced")},
    "drop-offs/<uuid:uid>/charges": {"POST": Entry(TAKE, "priced", body=CHARGE)},
    "jobs/<uuid:uid>/plan-prices": {"POST": Entry(TAKE, "priced_job", body=PRICE)},
    "jobs/<uuid:uid>/supplements": {"POST": Entry(Can.HOLD, "priced_job", body=ASKED)},
    "supplements": {"GET": SEE},
    "charges/<uuid:uid>": {"GET": Entry(Can.SEE, "supplement")},
    "charges/<uuid:uid>/take-off": {"POST": Entry(TAKE, "charge")},
    "charges/<uuid:uid>/need": {"POST": Entry(TAKE, "likely")},
    "charges/<uuid:uid>/answer": {"POST": Entry(TAKE, "supplement", body=ANSWERED)},
    "charges/<uuid:uid>/photographs": {
        "GET": Entry(Can.SEE, "supplement"),
        "POST": Entry(Can.HOLD, "supplement", body=PHOTOGRAPH),
    },
    "bills": {"GET": SEE},
    "bills/<uuid:uid>": {"GET": Entry(Can.SEE, "bill")},
    "bills/<uuid:uid>/counter": {"POST": Entry(Can.BILL, "bill", body=WHY)},
    "drop-offs/<uuid:uid>/bills": {"POST": Entry(Can.BILL, "priced", body=FOR)},
    "drop-offs/<uuid:uid>/payments": {"POST": Entry(Can.BILL, "priced", body=PAID)},
    "payments/<uuid:uid>/take-back": {"POST": Entry(Can.BILL, "payment", body=WHY)},
    "books": {"GET": SEE},
}


def _form(right: Can, row: str, body: Any = None) -> dict[str, Entry]:
    return {"GET": Entry(Can.SEE, row), "POST": Entry(right, row, body=body)}


MONEY_PAGES: dict[str, dict[str, Entry]] = {
    "office/money": {"GET": SEE},
    "office/money/reckoning": _form(SET, "", {"rounding": "per line", "usual": "usual"}),
    "office/money/rates/new": _form(SET, "", RATE),
    "office/books": {"GET": SEE},
    "office/books.csv": {"GET": SEE},
    "counter/supplements": {"GET": SEE},
    "drop-offs/<uuid:uid>/money": {"GET": Entry(Can.SEE, "priced")},
    "drop-offs/<uuid:uid>/charges/new": _form(TAKE, "priced", CHARGE),
    "jobs/<uuid:uid>/price": _form(TAKE, "priced_job", PRICE),
    "jobs/<uuid:uid>/supplement": _form(Can.HOLD, "priced_job", ASKED),
    "charges/<uuid:uid>": {"GET": Entry(Can.SEE, "supplement")},
    "charges/<uuid:uid>/take-off": _form(TAKE, "charge"),
    "charges/<uuid:uid>/need": _form(TAKE, "likely"),
    "charges/<uuid:uid>/answer": _form(TAKE, "supplement", ANSWERED),
    "charges/<uuid:uid>/photographs/new": _form(Can.HOLD, "supplement", PHOTOGRAPH),
    "drop-offs/<uuid:uid>/bill": _form(Can.BILL, "priced", FOR),
    "drop-offs/<uuid:uid>/pay": _form(Can.BILL, "priced", PAID),
    "bills/<uuid:uid>": {"GET": Entry(Can.SEE, "bill")},
    "bills/<uuid:uid>/counter": _form(Can.BILL, "bill", WHY),
    "payments/<uuid:uid>/take-back": _form(Can.BILL, "payment", WHY),
}

# The newest charge is the price of a plan, the newest bill a counter-bill, the newest payment takes another back.
NOW = "2026-11-25 12:00:00+00:00"
ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    (
        "charge_one_a_plan",
        "estimates_charge.job_id, estimates_charge.plan_version_id",
        "estimates_charge",
        {},
    ),
    ("bills_bill_number", "bills_bill.number", "bills_bill", {"corrects_id": None, "reason": "", "total": 0}),
    ("bills_bill_corrects_id", "bills_bill.corrects_id", "bills_bill", {"number": 9001}),
    ("bills_payment_takes_back_id", "bills_payment.takes_back_id", "bills_payment", {}),
]
KNOWN: list[tuple[str, str, dict[str, Any]]] = [
    ("workshop_tax_rounding_known", "workshop_workshop", {"tax_rounding": "per day"}),
    ("workshop_smallest_coin", "workshop_workshop", {"smallest_coin": 0}),
    ("charge_state_known", "estimates_charge", {"state": "lost"}),
    ("charge_payer_known", "estimates_charge", {"payer": "the state"}),
    ("charge_discount_with_reason", "estimates_charge", {"discount": 1}),
    ("charge_discount_with_reason", "estimates_charge", {"reason": "A comeback."}),
    ("charge_discount_with_reason", "estimates_charge", {"discount": 10**9, "reason": "A comeback."}),
    ("charge_plan_of_a_job", "estimates_charge", {"job_id": None}),
    (
        "charge_asked_of_a_job",
        "estimates_charge",
        {"state": "asked", "job_id": None, "plan_version_id": None},
    ),
    ("charge_declined_went_back", "estimates_charge", {"went_back": "bagged in pieces"}),
    ("charge_declined_went_back", "estimates_charge", {"state": "declined"}),
    ("charge_answered_by_somebody", "estimates_charge", {"given_by": "Maja"}),
    ("charge_answered_by_somebody", "estimates_charge", {"answered_at": NOW}),
]
WRITTEN: list[tuple[str, str, dict[str, Any]]] = [
    ("tax_rate_share", "money_taxrate", {"share": 100_001}),
    ("tax_rate_named", "money_taxrate", {"name": ""}),
    ("bill_payer_known", "bills_bill", {"number": 9001, "payer": "workshop"}),
    ("bill_countered_why", "bills_bill", {"number": 9001, "corrects_id": None}),
    ("bill_countered_why", "bills_bill", {"number": 9001, "corrects_id": None, "reason": "", "total": -1}),
    ("payment_kind_known", "bills_payment", {"kind": "gift"}),
    ("payment_way_known", "bills_payment", {"way": "shells"}),
    ("payment_of_something", "bills_payment", {"amount": 0}),
    ("payment_taken_back_why", "bills_payment", {"takes_back_id": None}),
]
