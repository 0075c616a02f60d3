"""Who may sign, with whom, and what an outcome must say."""

import pytest

from jobs.flow.rules import Outcome
from jobs.signoff.rules import outcome_refusals, second_refusals


@pytest.mark.parametrize(
    ("asked", "outcome", "given", "signer", "may", "codes"),
    [
        (True, "serviced", True, False, True, []),
        (True, "serviced", False, False, False, ["second-missing"]),
        (True, "failed", False, False, False, []),
        (False, "serviced", False, False, False, []),
        (False, "serviced", True, False, True, []),
        (True, "serviced", True, True, True, ["second-is-signer"]),
        (False, "failed", True, True, True, ["second-is-signer"]),
        (True, "serviced", True, False, False, ["second-may-not"]),
        (False, "declined", True, False, False, ["second-may-not"]),
    ],
)
def test_it_works(asked: bool, outcome: str, given: bool, signer: bool, may: bool, codes: list[str]) -> None:
    found = second_refusals(
        asked=asked, outcome=outcome, second_is_given=given, second_is_signer=signer, second_may_sign=may
    )

    assert [refusal.code for refusal in found] == codes
    assert {refusal.pointer for refusal in found} <= {"second"}


@pytest.mark.parametrize("outcome", list(Outcome))
def test_it_asks_for_words_unless_the_gear_is_serviced(outcome: str) -> None:
    assert outcome_refusals(outcome, "The seat bore is scored.") == []
    assert bool(outcome_refusals(outcome, "")) == (outcome != "serviced")


def test_it_knows_five_outcomes() -> None:
    assert [str(o) for o in Outcome] == ["serviced", "failed", "beyond repair", "condemned", "declined"]
