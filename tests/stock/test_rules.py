"""Cure quarters, last good days, and why a lot may not be taken."""

from datetime import date
from typing import Any

import pytest

from shop.lives.rules import cure_refusals, last_good_day, quarter_end
from shop.stock.rules import return_refusals, taking_refusals


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("1Q24", date(2024, 3, 31)),
        ("2Q24", date(2024, 6, 30)),
        ("3Q24", date(2024, 9, 30)),
        ("4Q24", date(2024, 12, 31)),
        ("3/94", date(1994, 9, 30)),
        ("3/1994", date(1994, 9, 30)),
        ("2Q2024", date(2024, 6, 30)),
        (" 2q24 ", date(2024, 6, 30)),
        ("1Q70", date(1970, 3, 31)),
        ("4Q69", date(2069, 12, 31)),
        ("1Q99", date(1999, 3, 31)),
        ("1Q00", date(2000, 3, 31)),
        ("1Q1950", date(1950, 3, 31)),
        ("4Q2200", date(2200, 12, 31)),
    ],
)
def test_it_works(text: str, day: date) -> None:
    assert quarter_end(text) == day


@pytest.mark.parametrize(
    "text",
    ["", "5Q24", "0Q24", "2Q", "Q24", "2Q2", "2Q224", "2-24", "24/2", "2Q24x", "2Q 24", "nonsense", "1Q1949",
     "1Q2201", "2024-06-30", "\0"],
)  # fmt: skip
def test_it_does_not_guess(text: str) -> None:
    assert quarter_end(text) is None


UNREAD, NOT_BEGUN = "Write the cure quarter as 2Q24 or 3/94.", "The quarter {} has not begun yet."


@pytest.mark.parametrize(
    ("text", "life", "on", "sentences"),
    [
        ("3Q26", 84, date(2026, 7, 1), []),
        ("3Q26", 84, date(2026, 6, 30), [NOT_BEGUN.format("3Q26")]),
        ("4Q26", 84, date(2026, 7, 1), [NOT_BEGUN.format("4Q26")]),
        ("3Q26", 84, date(2026, 9, 30), []),
        ("1Q27", 84, date(2026, 12, 31), [NOT_BEGUN.format("1Q27")]),
        ("1Q27", 84, date(2027, 1, 1), []),
        ("3Q27", 84, date(2026, 9, 1), [NOT_BEGUN.format("3Q27")]),
        ("2Q69", None, date(2026, 9, 1), [NOT_BEGUN.format("2Q69")]),
        ("1Q70", 84, date(2026, 9, 1), []),
        ("", 84, date(2026, 9, 1), [UNREAD]),
        ("", None, date(2026, 9, 1), []),
        ("summer", None, date(2026, 9, 1), [UNREAD]),
    ],
)
def test_it_refuses_a_quarter_that_has_not_begun_and_an_empty_one_where_a_life_is_counted(
    text: str, life: int | None, on: date, sentences: list[str]
) -> None:
    found = cure_refusals(text, life, on)

    assert [refusal.sentence for refusal in found] == sentences
    assert {refusal.pointer for refusal in found} <= {"cured"}


@pytest.mark.parametrize(
    ("cured", "months", "day"),
    [
        (date(2024, 6, 30), 84, date(2031, 6, 30)),
        (date(2024, 6, 30), None, None),
        (date(2023, 12, 31), 2, date(2024, 2, 29)),
        (date(2024, 6, 30), 1, date(2024, 7, 30)),
    ],
)
def test_it_counts_a_life_from_the_last_day_of_the_quarter(
    cured: date, months: int | None, day: date | None
) -> None:
    assert last_good_day(cured, months) == day


GOOD: dict[str, Any] = {
    "part": "TH-302", "wanted_part": "TH-302", "lot": "A-1", "good_to": date(2031, 6, 30),
    "on": date(2031, 6, 30), "on_hand": 3, "quantity": 3,
}  # fmt: skip


@pytest.mark.parametrize(
    ("change", "sentences"),
    [
        ({}, []),
        ({"good_to": None, "on": date(2199, 1, 1)}, []),
        ({"wanted_part": ""}, []),
        ({"on": date(2031, 7, 1)}, ["Lot A-1 is past its life: good to 2031-06-30."]),
        ({"quantity": 4}, ["Lot A-1 has 3 pieces, less than the 4 pieces asked for."]),
        ({"part": "TH-303"}, ["The plan asks for TH-302 here; lot A-1 is TH-303."]),
        (
            {"part": "TH-303", "on": date(2032, 1, 1), "on_hand": 0, "quantity": 1},
            [
                "The plan asks for TH-302 here; lot A-1 is TH-303.",
                "Lot A-1 is past its life: good to 2031-06-30.",
                "Lot A-1 has 0 pieces, less than the 1 piece asked for.",
            ],
        ),
    ],
)
def test_it_lets_a_lot_go_to_and_including_its_last_day(change: dict[str, Any], sentences: list[str]) -> None:
    found = taking_refusals(**(GOOD | change))

    assert [refusal.sentence for refusal in found] == sentences
    assert {refusal.pointer for refusal in found} <= {"lot"}


@pytest.mark.parametrize(
    ("quantity", "out", "found"), [(3, 3, []), (1, 9, []), (4, 3, ["never-taken"]), (1, 0, ["never-taken"])]
)
def test_no_more_is_put_back_than_was_taken(quantity: int, out: int, found: list[str]) -> None:
    assert [each.code for each in return_refusals("L-1", quantity, out)] == found
