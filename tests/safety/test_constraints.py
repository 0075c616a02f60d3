"""What the database itself states of notices, matches and answers: raw SQL tries to break each, on the engine of the run."""

from typing import Any

import pytest

from jobs.matches.actions import answer_match
from jobs.safety.models import Match
from tests.conftest import Api, House
from tests.guards.conftest import stage as stage
from tests.guards.raw import POSTGRESQL, a_row, again, changed, refused
from tests.safety.made import noted

PERIOD = {"dates": "made", "from_day": "2026-01-01", "to_day": "2026-02-01"}


@pytest.fixture(scope="module")
def made_of_the_file(stage: tuple[House, dict[str, Api]]) -> Match:
    house = stage[0]
    _, match = noted(house)
    first = answer_match(by=house.people["counter"], match=match, became="told", words="By telephone.")
    given: dict[str, Any] = {"became": "checked and fine", "words": "No crack.", "corrects": first}
    answer_match(by=house.people["technician"], match=match, **given)
    return match


@pytest.fixture
def made(made_of_the_file: Match, db: None) -> Match:
    """A match with an answer and its correction."""
    return made_of_the_file


def test_it_works(made: Match, stage: tuple[House, dict[str, Api]]) -> None:
    """Harmless copies and changes pass, so that a refusal below is the constraint's own."""
    again("safety_notice", **PERIOD)
    again("safety_match", item_id=stage[0].item(serial="NOTED-2").pk)
    again("safety_match", item_id=None, lot_id=stage[0].lots["TH-302"].pk)
    changed("safety_look", last=9_000_001, passed=9_000_000)
    assert a_row("safety_look")["passed"] == 9_000_000


@pytest.mark.parametrize(
    ("name", "of_sqlite", "table", "changes"),
    [
        ("match_once_an_item", "safety_match.notice_id, safety_match.item_id", "safety_match", {}),
        ("match_answered_first_once", "matches_answer.match_id", "matches_answer", {"corrects_id": None}),
        ("matches_answer_corrects_id", "matches_answer.corrects_id", "matches_answer", {}),
        ("safety_look_notice_id", "safety_look.notice_id", "safety_look", {}),
    ],
)
def test_what_stands_once(
    made: Match, name: str, of_sqlite: str, table: str, changes: dict[str, Any]
) -> None:
    with refused(name if POSTGRESQL else of_sqlite):
        again(table, **changes)


def test_a_lot_matches_once(made: Match, stage: tuple[House, dict[str, Api]]) -> None:
    lot = stage[0].lots["TH-302"].pk
    again("safety_match", item_id=None, lot_id=lot)

    with refused("match_once_a_lot" if POSTGRESQL else "safety_match.lot_id, safety_match.notice_id"):
        again("safety_match")


@pytest.mark.parametrize(
    ("name", "table", "changes"),
    [
        ("notice_period", "safety_notice", PERIOD | {"dates": ""}),
        ("notice_period", "safety_notice", PERIOD | {"dates": "sold"}),
        ("notice_period", "safety_notice", PERIOD | {"from_day": None}),
        ("notice_period", "safety_notice", PERIOD | {"to_day": None}),
        ("notice_period", "safety_notice", PERIOD | {"to_day": "2025-12-31"}),
        ("match_of_one_thing", "safety_match", {"item_id": None}),
        ("match_of_one_thing", "safety_match", {"lot_id": 1}),
        ("match_how_known", "safety_match", {"how": "guessed"}),
        ("match_answer_known", "matches_answer", {"became": "forgotten"}),
        ("match_put_right_by_a_job", "matches_answer", {"became": "put right"}),
        ("match_put_right_by_a_job", "matches_answer", {"job_id": 1}),
        ("match_answered_in_words", "matches_answer", {"words": ""}),
    ],
)
def test_it_refuses_to_write(made: Match, name: str, table: str, changes: dict[str, Any]) -> None:
    with refused(name):
        again(table, **changes)


def test_a_look_passes_no_further_than_its_last(made: Match) -> None:
    with refused("look_passed_items"):
        changed("safety_look", passed=a_row("safety_look")["last"] + 1)
