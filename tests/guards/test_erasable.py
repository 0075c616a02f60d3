"""Of an append-only table the database lets a text be erased, and nothing else be changed with it."""

import pytest

from shop.journal.rules import ERASABLE, ERASED
from tests.guards.conftest import stage as stage
from tests.guards.conftest import walk as walk
from tests.guards.raw import a_row, changed, refused
from tests.walk import Walk


@pytest.mark.parametrize("table", ERASABLE)
def test_it_lets_a_text_be_erased_alone(walk: Walk, table: str) -> None:
    before = a_row(table)
    at = next(name for name in ("at", "recorded_at") if name in before)
    for column in ERASABLE[table]:
        for refusal in (
            {column: "another text"},
            {column: ""} if before[column] else {column: " "},
            {column: ERASED, at: "2001-01-01 00:00:00+00:00"},
            {at: "2001-01-01 00:00:00+00:00"},
        ):
            with refused("append-only"):
                changed(table, **refusal)
        changed(table, **{column: ERASED})
        with refused("append-only"):  # once more is no erasing
            changed(table, **{column: ERASED})

    assert a_row(table) == before | dict.fromkeys(ERASABLE[table], ERASED)
