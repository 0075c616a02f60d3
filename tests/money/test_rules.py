"""Sums of lines by payer and rate, and that random bills are exact."""

import os
import random
from fractions import Fraction

import pytest

from shop.money.rules import Line, Payer, Rate, Rounding, Terms, apportioned, by_payer, line_refusals, totals

RATES = [
    Rate(),
    *(Rate(f"r{share}", share) for share in (4_000, 5_000, 7_700, 8_875, 17_500, 20_000, 25_000)),
]
BILLS = int(os.environ.get("EBBWRIGHT_BILLS", "2000"))


def test_it_works() -> None:
    lines = [Line(9500, RATES[6]), Line(2000, RATES[6], discount=500), Line(4000, payer=Payer.PROGRAMME)]

    found = by_payer(lines, Terms())

    assert {payer: (each.net, each.tax, each.gross) for payer, each in found.items()} == {
        "customer": (11000, 2200, 13200),
        "maker's programme": (4000, 0, 4000),
    }
    assert RATES[6].percent == "20"
    assert Rate("r", 8_875).percent == "8.875"


def nearest(value: Fraction) -> int:
    """Half away from nought, told apart from the rule by its way: the two whole numbers beside it are compared."""
    below = value.numerator // value.denominator
    low, high = value - below, below + 1 - value
    if low == high:
        return below + 1 if value > 0 else below
    return below if low < high else below + 1


def test_it_is_exact_over_random_bills() -> None:
    """Each bill against fractions: no unit is lost, no rate and payer touches another, the sign may be turned."""
    dice = random.Random(20261127)  # noqa: S311 - bills to try, no secrets
    for _ in range(BILLS):
        terms = Terms(dice.random() < 0.5, dice.choice(list(Rounding)), coin=dice.choice((1, 5, 10)))
        lines = [
            Line(amount, dice.choice(RATES), dice.choice(list(Payer)), dice.randint(0, amount))
            for amount in (
                dice.choice((1, 5, 99, 10**4, 10**9)) * dice.randint(0, 999)
                for _ in range(dice.randint(1, 9))
            )
        ]
        for payer, found in by_payer(lines, terms).items():
            mine = [line for line in lines if line.payer == payer]
            value = sum(line.amount - line.discount for line in mine)
            assert (found.gross if terms.inclusive else found.net) == value
            assert found.gross == found.net + found.tax == sum(group.gross for group in found.groups)
            for group in found.groups:
                share = Fraction(group.rate.share, 100_000)
                part = share / (1 + share) if terms.inclusive else share
                values = [line.amount - line.discount for line in mine if line.rate == group.rate]
                taxed = values if terms.rounding == "per line" else [sum(values)]
                assert group.tax == sum(nearest(each * part) for each in taxed)
            assert found.payable == nearest(Fraction(found.gross, terms.coin)) * terms.coin
            turned = totals([Line(-line.value, line.rate) for line in mine], terms)
            assert (turned.net, turned.tax, turned.payable) == (-found.net, -found.tax, -found.payable)


@pytest.mark.parametrize(
    ("amount", "weights", "shares"),
    [
        # Worked out by hand from the rule: largest remainder, of equal ones the first.
        (100, [1, 1, 1], [34, 33, 33]),
        (1, [1, 1, 1], [1, 0, 0]),
        (5, [3, 7], [2, 3]),
        (1000, [1999, 4950, 775, 1], [259, 641, 100, 0]),
        (7, [0, 7], [0, 7]),
    ],
)
def test_it_apportions(amount: int, weights: list[int], shares: list[int]) -> None:
    assert apportioned(amount, weights) == shares


@pytest.mark.parametrize(
    ("amount", "discount", "reason", "codes"),
    [
        (100, 0, "", []),
        (100, 100, "A comeback.", []),
        (100, 101, "A comeback.", ["discount-too-high"]),
        (100, 101, "", ["discount-too-high", "reason-missing"]),
        (100, 0, "A comeback.", ["discount-missing"]),
    ],
)
def test_it_asks_why_there_is_a_discount(amount: int, discount: int, reason: str, codes: list[str]) -> None:
    assert [each.code for each in line_refusals(amount, discount, reason)] == codes
