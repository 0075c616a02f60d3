"""Money as whole smallest units and as text; whether a go-ahead covers a price."""

from decimal import Decimal

import pytest

from jobs.estimates.rules import covering_refusals
from shop.workshop.rules import digits, money, smallest


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        (18000, "EUR", "180.00"),
        (5, "GBP", "0.05"),
        (0, "GBP", "0.00"),
        (18000, "JPY", "18000"),
        (0, "JPY", "0"),
        (18000, "KWD", "18.000"),
        (1, "KWD", "0.001"),
        (10**15 + 1, "GBP", "10000000000000.01"),
    ],
)
def test_it_works(amount: int, currency: str, text: str) -> None:
    assert money(amount, currency) == text
    assert smallest(Decimal(text), currency) == amount


@pytest.mark.parametrize(
    ("text", "currency", "units"),
    [
        ("1", "GBP", 100),
        ("1.5", "GBP", 150),
        ("1.50", "GBP", 150),
        ("1.500", "GBP", 150),
        ("1.005", "GBP", None),
        ("1.5", "JPY", None),
        ("1.0", "JPY", 1),
        ("1.005", "KWD", 1005),
        ("1.0005", "KWD", None),
    ],
)
def test_it_never_rounds_money(text: str, currency: str, units: int | None) -> None:
    assert smallest(Decimal(text), currency) == units


def test_it_knows_currencies_with_more_and_fewer_decimals() -> None:
    assert [digits(code) for code in ("JPY", "GBP", "EUR", "KWD")] == [0, 2, 2, 3]


@pytest.mark.parametrize(
    ("amount", "price", "currency", "sentences"),
    [
        (9500, 9500, "GBP", []),
        (9501, 9500, "GBP", []),
        (0, 0, "GBP", []),
        (9499, 9500, "GBP", ["The go-ahead is up to 94.99 GBP; the plans come to 95.00."]),
        (None, 9500, "GBP", ["There is no go-ahead yet; the plans come to 95.00 GBP."]),
        (None, 0, "JPY", ["There is no go-ahead yet; the plans come to 0 JPY."]),
        (94, 95, "JPY", ["The go-ahead is up to 94 JPY; the plans come to 95."]),
    ],
)
def test_it_covers_a_price_or_says_what_is_missing(
    amount: int | None, price: int, currency: str, sentences: list[str]
) -> None:
    assert [refusal.sentence for refusal in covering_refusals(amount, price, currency)] == sentences
