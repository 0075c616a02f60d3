"""What each method of each address of evidence needs, and its constraints."""

from typing import Any

from shop.staff.rules import Can
from tests.guards.bodies import PHOTOGRAPH, SEE, Entry
from tests.walk import EVIDENCE

TAKEN = {"where": "outside", "giver": "evidence cupboard", "holder": "the harbour police", "intact": "A-1"}

EVIDENCE_API: dict[str, dict[str, Entry]] = {
    "evidence": {"GET": SEE},
    "items/<uuid:uid>/evidence": {"POST": Entry(Can.HOLD, "item", body=EVIDENCE)},
    "evidence/<uuid:uid>": {"GET": Entry(Can.SEE, "evidence")},
    "evidence/<uuid:uid>/custody": {"POST": Entry(Can.KEEP_CUSTODY, "evidence", body=TAKEN)},
    "evidence/<uuid:uid>/photographs": {
        "GET": Entry(Can.SEE, "evidence"),
        "POST": Entry(Can.KEEP_CUSTODY, "evidence", body=PHOTOGRAPH),
    },
    "evidence/<uuid:uid>/archives": {"POST": Entry(Can.LIFT_EVIDENCE, "evidence")},
}
EVIDENCE_PAGES: dict[str, dict[str, Entry]] = {
    "evidence": {"GET": SEE},
    "items/<uuid:uid>/evidence": {
        "GET": Entry(Can.SEE, "item"),
        "POST": Entry(Can.HOLD, "item", body=EVIDENCE),
    },
    "evidence/<uuid:uid>": {"GET": Entry(Can.SEE, "evidence")},
    "evidence/<uuid:uid>/custody": {
        "GET": Entry(Can.SEE, "evidence"),
        "POST": Entry(Can.KEEP_CUSTODY, "evidence", body=TAKEN),
    },
    "evidence/<uuid:uid>/photographs/new": {
        "GET": Entry(Can.SEE, "evidence"),
        "POST": Entry(Can.KEEP_CUSTODY, "evidence", body=PHOTOGRAPH),
    },
    "evidence/<uuid:uid>/take-out": {
        "GET": Entry(Can.LIFT_EVIDENCE, "evidence"),
        "POST": Entry(Can.LIFT_EVIDENCE, "evidence"),
    },
}
# Constraints: what SQLite says instead of the name, the table whose newest row is written once more, with changes.
EVIDENCE_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    (
        "hold_evidence_once_an_item",
        "flow_hold.item_id",
        "flow_hold",
        {"job_id": None, "kind": "evidence", "cause": ""},
    ),
    ("evidence_evidence_hold_id", "evidence_evidence.hold_id", "evidence_evidence", {}),
    (
        "evidencecustody_n",
        "evidence_evidencecustody.hold_id, evidence_evidencecustody.n",
        "evidence_evidencecustody",
        {},
    ),
]
EVIDENCE_WRITTEN: list[tuple[str, str, dict[str, Any]]] = [
    ("evidencecustody_where_known", "evidence_evidencecustody", {"n": 9, "where": "gone"}),
    ("evidencecustody_broken_why", "evidence_evidencecustody", {"n": 9, "broken": "A-1", "why": ""}),
]
