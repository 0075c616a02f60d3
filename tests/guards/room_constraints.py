"""Constraints of rooms that keep theirs beside their doors, and of live logging and of files brought in; see test_constraints."""

from typing import Any

from tests.guards import rights_constraints
from tests.guards.answer_entries import ANSWER_CONSTRAINTS, ANSWER_ONCE, ANSWER_WRITTEN
from tests.guards.clock_entries import CLOCK_CONSTRAINTS, CLOCK_WRITTEN
from tests.guards.condition_entries import CONDITION_ONCE, CONDITION_WRITTEN
from tests.guards.evidence_entries import EVIDENCE_ONCE, EVIDENCE_WRITTEN
from tests.guards.lending_entries import LENDING_CONSTRAINTS
from tests.guards.letter_entries import LETTER_CONSTRAINTS, LETTERS_ONCE
from tests.guards.porthole_entries import PORTHOLE_CONSTRAINTS, PORTHOLE_ONCE
from tests.guards.quote_entries import QUOTE_CONSTRAINTS, QUOTE_ONCE, QUOTE_WRITTEN
from tests.guards.terms_entries import TERMS_ONCE, TERMS_WRITTEN

ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    *EVIDENCE_ONCE,
    *ANSWER_ONCE,
    *LETTERS_ONCE,
    *rights_constraints.ONCE,
    *PORTHOLE_ONCE,
    *QUOTE_ONCE,
    *TERMS_ONCE,
    *CONDITION_ONCE,
    ("batch_once_a_file", "batches_batch.what, batches_batch.sha256", "batches_batch", {}),
    ("brought_once_a_line", "batch_id, batches_brought.line", "batches_brought", {"old_key": ""}),
    (
        "brought_once_a_key",
        "batches_brought.what, batches_brought.old_key",
        "batches_brought",
        {"line": 9001},
    ),
    ("loan_one_open_an_item", "lending_loan.item_id", "lending_loan", {}),
    ("logging_one_open", "live_logging.job_id, live_logging.key", "live_logging", {}),
    ("live_logging_attempt_id", "live_logging.attempt_id", "live_logging", {}),
    ("chunk_once", "live_chunk.logging_id, live_chunk.n", "live_chunk", {}),
    ("batches_upload_batch_id", "batches_upload.batch_id", "batches_upload", {}),
]
KNOWN: list[tuple[str, str, Any]] = [
    *CLOCK_CONSTRAINTS,
    *LENDING_CONSTRAINTS,
    *ANSWER_CONSTRAINTS,
    *LETTER_CONSTRAINTS,
    *rights_constraints.KNOWN,
    *PORTHOLE_CONSTRAINTS,
    *QUOTE_CONSTRAINTS,
    ("batch_state_known", "batches_batch", {"state": "lost"}),
    ("batch_undone_once", "batches_batch", {"state": "undone"}),
    ("batch_undone_once", "batches_batch", {"undone_at": "2026-11-25 12:00:00+00:00"}),
    ("batch_passed_rows", "batches_batch", {"passed": 9001}),
    ("brought_of_its_kind", "batches_brought", {"customer_id": None}),
    ("brought_of_its_kind", "batches_brought", {"what": "items"}),
    ("logging_closed_how", "live_logging", {"state": "lost"}),
    ("logging_closed_how", "live_logging", {"state": "ended"}),
    (
        "logging_closed_how",
        "live_logging",
        {"state": "thrown away", "closed_at": "2026-11-25 12:00:00+00:00"},
    ),
    ("logging_closed_how", "live_logging", {"reason": "The hose came off."}),
]
WRITTEN: list[tuple[str, str, dict[str, Any]]] = [
    *CLOCK_WRITTEN,
    *EVIDENCE_WRITTEN,
    *ANSWER_WRITTEN,
    *QUOTE_WRITTEN,
    *TERMS_WRITTEN,
    *CONDITION_WRITTEN,
    ("spot_on_the_photograph", "files_spot", {"across": 1001}),
    ("spot_on_the_photograph", "files_spot", {"down": 1001}),
    ("spot_shape_known", "files_spot", {"shape": "square"}),
]
