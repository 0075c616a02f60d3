"""Who may sign, with whom, and what an outcome must say."""

import pytest

from jobs.flow.rules import Outcome
from jobs.signoff.rules import Second, comeback_refusals, outcome_refusals, second_refusals

MAREK, HERSELF, COUNTER = Second(False, True), Second(True, True), Second(False, False)


@pytest.mark.parametrize(
    ("asked", "outcome", "second", "alone", "others", "codes"),
    [
        (True, "serviced", MAREK, "", ["Marek"], []),
        (True, "serviced", None, "", ["Marek"], ["second-missing"]),
        (True, "failed", None, "", ["Marek"], []),
        (False, "serviced", None, "", ["Marek"], []),
        (False, "serviced", MAREK, "", ["Marek"], []),
        (True, "serviced", HERSELF, "", [], ["second-is-signer"]),
        (False, "failed", HERSELF, "", [], ["second-is-signer"]),
        (True, "serviced", COUNTER, "", [], ["second-may-not"]),
        (False, "declined", COUNTER, "", [], ["second-may-not"]),
        (True, "serviced", None, "Nobody else works here.", [], []),
        (True, "serviced", None, "Nobody else works here.", ["Marek"], ["not-alone"]),
        (True, "serviced", MAREK, "Nobody else works here.", ["Marek"], ["not-alone"]),
    ],
)
def test_it_works(
    asked: bool, outcome: str, second: Second | None, alone: str, others: list[str], codes: list[str]
) -> None:
    found = second_refusals(asked=asked, outcome=outcome, second=second, single_handed=alone, others=others)

    assert [refusal.code for refusal in found] == codes
    assert {refusal.pointer for refusal in found} <= {"second", "single_handed"}


@pytest.mark.parametrize(
    ("earlier", "alone", "others", "codes"),
    [
        ("", "", ["Marek"], []),
        ("Marek", "", ["Marek"], []),
        ("Ines", "", ["Marek"], ["same-signer"]),
        ("Ines", "", [], ["same-signer"]),
        ("Ines", "Nobody else works here.", [], []),
        ("Ines", "Nobody else works here.", ["Marek"], ["same-signer"]),
    ],
)
def test_it_wants_another_signer_for_what_comes_back(
    earlier: str, alone: str, others: list[str], codes: list[str]
) -> None:
    found = comeback_refusals(earlier, "Ines", single_handed=alone, others=others)

    assert [refusal.code for refusal in found] == codes


@pytest.mark.parametrize("outcome", list(Outcome))
def test_it_asks_for_words_unless_the_gear_is_serviced(outcome: str) -> None:
    assert outcome_refusals(outcome, "The seat bore is scored.") == []
    assert bool(outcome_refusals(outcome, "")) == (outcome != "serviced")


def test_it_knows_five_outcomes() -> None:
    assert [str(o) for o in Outcome] == ["serviced", "failed", "beyond repair", "condemned", "declined"]
