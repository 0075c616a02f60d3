from decimal import Decimal
from fractions import Fraction

from jobs.bench.methods.spreads import both, value_of
from jobs.bench.methods.worked import Value


def test_it_works() -> None:
    assert value_of(Fraction(2), Fraction(1, 2)) == Value(
        Decimal(2), "percent", Decimal("1.5"), Decimal("2.5")
    )
    assert value_of(Fraction(1, 4), None, "m") == Value(Decimal("0.25"), "m")


def test_it_adds_two_spreads_in_squares() -> None:
    found = both(Fraction(3))
    assert found is not None
    assert abs(found * found - 18) < Fraction(1, 10**20)
    assert both(None) is None
