"""Totals and tax against published examples; each names its source."""

import pytest

from shop.money.rules import Line, Rate, Rounding, Terms, half_up, tax_of, totals

R25, R20, R19, R15, EXEMPT = (
    Rate("25", 25_000),
    Rate("20", 20_000),
    Rate("19", 19_000),
    Rate("15", 15_000),
    Rate("exempt"),
)


def test_it_works() -> None:
    """EN 16931, official example ubl-tc434-example2, from its line amounts (BT-131) upward; allowance and charge as lines."""
    lines = [
        Line(127300, R25), Line(-396, R15), Line(496, R15), Line(-2500, EXEMPT), Line(18750, R25),
        Line(-10000, R25), Line(10000, R25),
    ]  # fmt: skip

    found = totals(lines, Terms())

    assert {group.rate.name: (group.net, group.tax) for group in found.groups} == {
        "25": (146050, 36513),
        "15": (100, 15),
        "exempt": (-2500, 0),
    }
    assert (found.net, found.tax, found.gross) == (143650, 36528, 180178)
    assert found.gross - 100000 == 80178  # prepaid 1000.00: BT-115 is 801.78


def test_it_mirrors_a_counter_bill() -> None:
    """The same base with its sign turned: the absolute value is rounded (EN 16931 example 2, 365.125)."""
    assert (tax_of(146050, 25_000, inclusive=False), tax_of(-146050, 25_000, inclusive=False)) == (
        36513,
        -36513,
    )


@pytest.mark.parametrize(
    ("values", "rate", "inclusive", "per_rate", "per_line"),
    [
        # A public-sector help page on HMRC Notice 700 para 17.5 (read second hand): gross 135.72 or 135.70.
        ([1131] * 10, R20, False, 13572, 13570),
        # A forum on German VAT (read second hand): 6.66 and 1.24 net at 19 %.
        ([666, 124], R19, False, 940, 941),
    ],
)
def test_it_rounds_where_it_is_told(
    values: list[int], rate: Rate, inclusive: bool, per_rate: int, per_line: int
) -> None:
    lines = [Line(value, rate) for value in values]

    assert totals(lines, Terms(inclusive)).gross == per_rate
    assert totals(lines, Terms(inclusive, Rounding.PER_LINE)).gross == per_line


def test_it_rounds_goods_and_services_tax_both_ways() -> None:
    """GST Act 1999 (Australia) s 9-90 (rule read; the numbers are our own): 3 lines of 1.05 with 1/11 inside."""
    lines = [Line(105, Rate("GST", 10_000))] * 3

    assert totals(lines, Terms(True)).tax == 29
    assert totals(lines, Terms(True, Rounding.PER_LINE)).tax == 30


@pytest.mark.parametrize(
    ("gross", "share", "tax"),
    [
        # The fractions r/(100 + r) of two tax guides (read second hand); the last four are our own.
        (12000, 20_000, 2000),
        (11750, 17_500, 1750),
        (11500, 15_000, 1500),
        (11250, 12_500, 1250),
        (10500, 5_000, 500),
        (8000, 5_000, 381),
        (11900, 19_000, 1900),
        (999, 20_000, 167),
        (5, 20_000, 1),
        (999, 19_000, 160),
        # 2.99 with 4 % inside is exactly 0.115 (a vendor's document, second hand): the tax is rounded, the net is the rest.
        (299, 4_000, 12),
    ],
)
def test_it_finds_the_tax_in_a_price(gross: int, share: int, tax: int) -> None:
    found = totals([Line(gross, Rate("r", share))], Terms(True))

    assert (found.tax, found.net, found.gross) == (tax, gross - tax, gross)


@pytest.mark.parametrize(
    ("gross", "unit", "payable"),
    [
        # Swiss rounding to 5 centimes. In thousandths, the bounds of an encyclopaedia's table (read second hand):
        (1000, 50, 1000),
        (1024, 50, 1000),
        (1025, 50, 1050),
        (1074, 50, 1050),
        (1075, 50, 1100),
        (1099, 50, 1100),
        # in centimes, a broadcaster's example and three of a banking ombudsman's case (read second hand).
        (1932, 5, 1930),
        (7468, 5, 7470),
        (30519, 5, 30520),
        (30517, 5, 30515),
    ],
)
def test_it_rounds_to_the_smallest_coin(gross: int, unit: int, payable: int) -> None:
    """As EN 16931 does it, the rounding stands apart (BT-114), and the tax stays what it was."""
    found, exact = (totals([Line(gross, R20)], Terms(True, coin=coin)) for coin in (unit, 1))

    assert (found.payable, found.rounding) == (payable, payable - gross)
    assert (found.net, found.tax, found.gross) == (exact.net, exact.tax, gross)
    assert totals([Line(-gross, R20)], Terms(True, coin=unit)).payable == -payable


@pytest.mark.parametrize(("over", "rounded"), [(5874, 587), (5876, 588), (5875, 588), (-5875, -588), (0, 0)])
def test_it_rounds_half_up(over: int, rounded: int) -> None:
    """5.874 and 5.876: a tax database on German VAT (read second hand); the half and its mirror follow from the rule above."""
    assert half_up(over, 10) == rounded
