"""Which part may be approved in the place of another, and what is said of a lot then, by tables."""

import pytest

from shop.alternatives.rules import alternative_refusals, as_approved
from shop.workshop.rules import Refusal

WRONG = Refusal("wrong-part", "The plan asks for A here; lot L is B.", "lot")
OLD = Refusal("past-life", "Lot L is past its life.", "lot")


@pytest.mark.parametrize(
    ("part", "other", "superseded", "newer", "stands", "found"),
    [
        ("A", "B", False, {}, [], []),
        ("A", "B", True, {}, [], []),
        ("A", "B", True, {"B": "C"}, ["D"], []),
        ("A", "A", True, {}, [], ["itself"]),
        ("A", "B", False, {}, ["B"], ["approved-before"]),
        ("A", "B", True, {"A": "C"}, ["C"], ["superseded-before"]),
        ("A", "B", True, {"A": "B"}, ["B"], ["approved-before", "superseded-before"]),
        ("A", "B", True, {"B": "A"}, [], ["circle"]),
        ("A", "B", True, {"B": "C", "C": "D", "D": "A"}, [], ["circle"]),
        ("A", "B", False, {"B": "A"}, [], []),  # the older may still be an alternative to the newer
        ("A", "B", True, {"C": "D", "D": "C"}, [], []),
        ("A", "B", True, {"B": "C", "C": "B"}, [], []),  # a circle of others does not hang the rule
    ],
)
def test_what_may_be_approved(
    part: str, other: str, superseded: bool, newer: dict[str, str], stands: list[str], found: list[str]
) -> None:
    refused = alternative_refusals(part, other, superseded=superseded, newer=newer, stands=stands)

    assert [each.code for each in refused] == found


@pytest.mark.parametrize(
    ("refusals", "approved", "acknowledged", "codes"),
    [
        ([], "", False, []),
        ([WRONG, OLD], "", False, ["wrong-part", "past-life"]),
        ([WRONG, OLD], "B may.", False, ["wrong-part", "past-life"]),
        ([WRONG, OLD], "B may.", True, ["past-life"]),
        ([WRONG], "B may.", True, []),
        ([WRONG], "", True, ["wrong-part", "no-alternative"]),
        ([], "", True, ["no-alternative"]),
    ],
)
def test_what_is_left_of_the_refusals(
    refusals: list[Refusal], approved: str, acknowledged: bool, codes: list[str]
) -> None:
    assert [each.code for each in as_approved(refusals, approved, acknowledged=acknowledged)] == codes


def test_it_names_the_alternative_and_its_condition() -> None:
    (said,) = as_approved(
        [WRONG], "B supersedes A, on the condition: new washer (bulletin 12).", acknowledged=False
    )

    assert said.sentence == (
        "The plan asks for A here; lot L is B. B supersedes A, on the condition: new washer (bulletin 12). "
        "Say that its condition holds, or take another lot."
    )
