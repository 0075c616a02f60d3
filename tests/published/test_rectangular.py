"""Standard uncertainty of bounds within which every value is equally likely, JCGM 100:2008 (GUM) 4.3.7."""

from decimal import Decimal

import pytest

from jobs.bench.methods.typed_reading import standard_uncertainty


# The clause is named from memory; the figures are half-width/sqrt(3), the last as computed with GTC's uniform distribution.
@pytest.mark.parametrize(
    ("full_scale", "percent", "found"), [("40", "1", 0.23094), ("26", "1", 0.15011), ("50", "1", 0.288675)]
)
def test_it_works(full_scale: str, percent: str, found: float) -> None:
    assert float(standard_uncertainty(Decimal(full_scale), Decimal(percent))) == pytest.approx(
        found, abs=6e-6
    )
