"""What a customer is told of gear on each leg, what of holds, and when a drop-off is shown no more."""

from datetime import UTC, datetime, timedelta

import pytest

from jobs.flow.rules import HoldKind, Leg, Outcome
from jobs.porthole.rules import (
    AFTER_HAND_BACK,
    MOST_A_DAY,
    MOST_OPEN,
    OUTSIDE,
    over,
    question_refusals,
    state_of,
    waits_for,
    warns,
)

NOON = datetime(2026, 11, 27, 12, tzinfo=UTC)


def test_it_works() -> None:
    said = {leg: state_of(leg, "serviced" if leg == Leg.SIGNED_OFF else "") for leg in Leg}

    assert len({*map(tuple, said.values())}) == len(Leg)
    assert said[Leg.CLEANING] == ["It is apart and is being cleaned."]
    assert state_of("handed_back", "serviced") == ["It was serviced.", "It was handed back."]


@pytest.mark.parametrize("outcome", list(Outcome))
def test_it_warns_of_all_but_serviced(outcome: Outcome) -> None:
    for leg in (Leg.SIGNED_OFF, Leg.HANDED_BACK):
        assert warns(leg, outcome) == (outcome != "serviced")
    assert not warns(Leg.TESTING, "")


def test_it_says_what_is_outside_only_while_it_is_worked_on() -> None:
    assert state_of("testing", "", outside=True) == [OUTSIDE]
    assert state_of("signed_off", "serviced", outside=True) == ["It was serviced."]


@pytest.mark.parametrize(
    ("kinds", "said"),
    [
        ([], ""),
        (["parts"], "waits for a part"),
        (["parts", "customer"], "waits for an answer from you"),
        (["evidence"], "stands still for now"),
        (["parts", "evidence"], "stands still for now"),
        (["doubt"], "stands still for now"),
    ],
)
def test_it_tells_no_reason_of_a_hold(kinds: list[str], said: str) -> None:
    assert waits_for({HoldKind(kind) for kind in kinds}) == said


def test_it_is_over_some_days_after_the_last_has_gone() -> None:
    assert not over(None, NOON)
    assert not over(NOON, NOON + AFTER_HAND_BACK - timedelta(seconds=1))
    assert over(NOON, NOON + AFTER_HAND_BACK)


def test_it_takes_only_so_many_questions() -> None:
    assert question_refusals(MOST_OPEN - 1, MOST_A_DAY - 1) == []
    assert [each.code for each in question_refusals(MOST_OPEN, MOST_A_DAY)] == ["asked-enough", "asked-often"]
