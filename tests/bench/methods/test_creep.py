"""How much longer to measure, worked by hand."""

import pytest

from jobs.bench.methods.creep import Creep, further_s
from jobs.bench.methods.slopes import Line
from jobs.bench.methods.warming import LONGEST_WARMING_S, Halves


def creep(slope: float, low: float, high: float, steps: float = 0.0, changed: bool = False) -> Creep:
    """A window of one minute without warming: what its halves hide is nothing."""
    sure = Line(slope, slope, slope, 0.0)
    halves = Halves(sure, sure, 0.0, 1.0, changed)
    return Creep(Line(slope, low, high, 0.0), steps, 0.0, 1.0, None, halves)


@pytest.mark.parametrize(
    ("fit", "low", "high", "more_s"),
    [
        # 1.83929 * 0.02 / growth^1.5 <= 0.02 needs growth 1.5012, so 40 s more rather than 30.
        (creep(0.1, 0.08, 0.12), None, 0.12, 40),
        (creep(0.1, 0.09, 0.12), None, 0.12, 40),
        (creep(0.1, 0.08, 0.11), 0.08, None, 40),
        (creep(0.1, 0.08, 0.12), 0.05, 0.12, 40),
        (creep(-0.1, -0.12, -0.08), None, -0.08, 40),
        # Half a thousandth further off, 30 s are enough.
        (creep(0.1, 0.08, 0.12), None, 0.1205, 30),
        # Of 0.03 to either side 0.01 is steps: 1.83929 * 0.02 / growth^1.5 + 0.01 / growth: 50 s leave 0.02027, 60 s 0.01801.
        (creep(0.1, 0.07, 0.13, 0.01), None, 0.12, 60),
        # At once, at the least, and at the most: growth 11 leaves 0.05041 of 1, and 10.83 leaves 0.05158.
        (creep(0.1, 0.0999, 0.1001), None, 0.2, 10),
        (creep(0.1, -0.9, 1.1), None, 0.151, 600),
        (creep(0.1, -0.9, 1.1), None, 0.15, None),
        (creep(0.1, 0.0999, 0.1001, changed=True), None, 0.2, int(LONGEST_WARMING_S)),
    ],
)
def test_it_works(fit: Creep, low: float | None, high: float | None, more_s: int | None) -> None:
    assert further_s(fit, low, high) == more_s
