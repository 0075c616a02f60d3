"""Cure dates and storage life against published examples.

ISO 2230:2002, 5.3 c, writes a cure date as quarter and year: "3/94" is the third quarter of 1994.
SAE AS5316 counts from the end of the quarter and gives 15, 10 and 7 years to its groups of elastomers; the years were
read in summaries of the standard, the dates below were computed by hand from them.
"""

from datetime import date

import pytest

from shop.lives.rules import last_good_day, quarter_end
from shop.stock.rules import taking_refusals


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("3/94", date(1994, 9, 30)),  # ISO 2230:2002, 5.3 c
        ("2Q24", date(2024, 6, 30)),  # the trade's way to write it
        ("4Q15", date(2015, 12, 31)),
    ],
)
def test_it_works(text: str, day: date) -> None:
    assert quarter_end(text) == day


@pytest.mark.parametrize(
    ("text", "years", "day"),
    [
        ("2Q24", 15, date(2039, 6, 30)),
        ("2Q24", 10, date(2034, 6, 30)),
        ("2Q24", 7, date(2031, 6, 30)),
        ("4Q15", 15, date(2030, 12, 31)),
        ("3/94", 7, date(2001, 9, 30)),
    ],
)
def test_it_lets_a_life_end_on_the_last_day_of_the_quarter(text: str, years: int, day: date) -> None:
    cured = quarter_end(text)

    assert cured is not None
    assert last_good_day(cured, years * 12) == day


@pytest.mark.parametrize(("on", "codes"), [(date(2030, 12, 31), []), (date(2031, 1, 1), ["past-life"])])
def test_it_lets_a_lot_go_until_then(on: date, codes: list[str]) -> None:
    found = taking_refusals(
        part="a", wanted_part="a", lot="b", good_to=date(2030, 12, 31), on=on, on_hand=1, quantity=1
    )

    assert [refusal.code for refusal in found] == codes
