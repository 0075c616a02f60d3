"""Money as whole smallest units and as text; whether a go-ahead covers a price."""

from decimal import Decimal

import pytest

from jobs.estimates.rules import agreed_in_all, covering_refusals, lowering_refusals
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


@pytest.mark.parametrize(
    ("plans", "likely", "go_ahead", "more", "in_all"),
    [
        (10500, 0, 30000, 2000, 30000),
        (10500, 0, 12000, 2000, 12500),
        (16500, 1250, 17750, 2000, 19750),
        (16500, 1250, 19000, 2000, 19750),
        (16500, 1250, 16500, 2000, 18500),
        (16500, 1250, 17000, 2000, 19000),
        (16500, 1250, 10000, 2000, 18500),
        (16500, 1250, None, 2000, 18500),
    ],
)
def test_it_adds_a_supplement_to_what_was_agreed_where_it_does_not_fit(
    plans: int, likely: int, go_ahead: int | None, more: int, in_all: int
) -> None:
    given = {"price": plans, "hoped": plans + likely, "with_it": plans + more}
    assert agreed_in_all(go_ahead, **given, hoped_with_it=plans + likely + more) == in_all


@pytest.mark.parametrize(
    ("amount", "go_ahead", "with_it", "codes"),
    [
        (30000, 30000, 13500, []),
        (29999, 30000, 13500, ["below-go-ahead"]),
        (13499, None, 13500, ["below-the-price"]),
        (13500, None, 13500, []),
        (None, 30000, 13500, []),
    ],
)
def test_it_lowers_no_go_ahead_by_agreeing_to_more(
    amount: int | None, go_ahead: int | None, with_it: int, codes: list[str]
) -> None:
    assert [each.code for each in lowering_refusals(amount, go_ahead, with_it, "GBP")] == codes
