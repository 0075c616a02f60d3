"""Of an append-only table the database lets a text be erased, and nothing else be changed with it."""

from typing import Any

import pytest

from shop.clocks.models import Clock
from shop.journal.rules import ERASABLE, ERASED
from tests.guards.conftest import stage as stage
from tests.guards.conftest import walk as walk
from tests.guards.raw import a_row, again, changed, refused
from tests.guards.test_constraints import REUSED
from tests.walk import Walk

# What the newest row of a table is written once more with, where no such text stands in it.
FILLED: dict[str, dict[str, Any]] = {
    "files_photograph": {"words": "A yoke."},
    "flow_move": {"reason": "It leaks."},
    "clocks_restart": {"cause": "another", "elsewhere": "Quay Divers"},
    "worksheet_stepdone": {"key": "another", "noted": "Worn.", "omitted": "Not fitted."},
    "tray_traypart": REUSED | {"words": "Worn."},
    "answers_answer": {
        "said": "done elsewhere",
        "day": "2021-01-01",
        "elsewhere": "Quay Divers",
        "item_id": None,
    },
    "condition_answer": {"n": 99, "said": "seen", "note": "It was wet."},
    "evidence_evidencecustody": {"n": 9, "why": "It was moved."},
    "bench_attempt": {"why_again": "The hose came off."},
}


@pytest.mark.parametrize("table", ERASABLE)
def test_it_lets_a_text_be_erased_alone(walk: Walk, table: str) -> None:
    if table in FILLED:
        clock = {"clock_id": Clock.objects.order_by("pk")[0].pk} if table == "answers_answer" else {}
        again(table, **FILLED[table] | clock)
    before = a_row(table)
    at = next(name for name in ("at", "recorded_at", "hold_id", "of_look_id") if name in before)
    other = 9001 if at.endswith("_id") else "2001-01-01 00:00:00+00:00"
    for column in ERASABLE[table]:
        refusals: tuple[dict[str, Any], ...] = (
            {column: "another text"},
            {column: ""} if before[column] else {column: " "},
            {column: ERASED, at: other},
            {at: other},
        )
        for refusal in refusals:
            with refused("append-only"):
                changed(table, **refusal)
        if not before[column]:
            with refused("append-only"):  # what is empty holds nothing to erase
                changed(table, **{column: ERASED})
            continue
        changed(table, **{column: ERASED})
        with refused("append-only"):  # once more is no erasing
            changed(table, **{column: ERASED})

    said = [column for column in ERASABLE[table] if before[column]]
    assert a_row(table) == before | dict.fromkeys(said, ERASED)
    assert said
