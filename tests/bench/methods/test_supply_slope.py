from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.supply_slope import COMPUTATION, SLOPE
from jobs.bench.methods.verdicts import Instrument, Limit, Verdict
from jobs.bench.methods.worked import Result, judge

GAUGE = Instrument(resolution=Decimal("0.1"))


def slope(rows: str, design: str = "balanced", instrument: Instrument | None = GAUGE, **side: str) -> Result:
    limits = [Limit(SLOPE, "percent", **{name: Decimal(text) for name, text in side.items()})] if side else []  # type: ignore[arg-type]  # sides only
    return judge(COMPUTATION, {"design": design, "rows": rows}, limits, instrument)


@pytest.mark.parametrize(
    ("rows", "design", "found", "fits"),
    [
        ("200 10.2\n50 9.0", "unbalanced piston", "0.8000", True),
        ("200 9.0\n50 10.2", "unbalanced diaphragm", "-0.8000", True),
        ("200 9.5\n50 9.5", "balanced", "0.0000", True),
        ("200 9.0\n50 10.2", "unbalanced piston", "-0.8000", False),
        ("200 10.2\n50 9.0", "unbalanced diaphragm", "0.8000", False),
        ("200 10.2\n50 9.0", "balanced", "0.8000", False),
        ("200 9.5\n50 9.5", "unbalanced piston", "0.0000", False),
    ],
)
def test_it_works(rows: str, design: str, found: str, fits: bool) -> None:
    result = slope(rows, design)

    assert str(result.values[SLOPE].value) == found
    assert ("does not fit" in result.warnings[0]) is not fits


def test_it_is_the_line_of_least_squares() -> None:
    supplies, lock_ups = [200, 150, 100, 50], [9.71, 9.58, 9.52, 9.33]
    rows = "\n".join(f"{x} {y}" for x, y in zip(supplies, lock_ups, strict=True))

    assert float(slope(rows).values[SLOPE].value) == pytest.approx(
        100 * np.polyfit(supplies, lock_ups, 1)[0], abs=6e-5
    )


def test_it_takes_the_step_of_the_instrument_into_its_interval() -> None:
    """Two readings 150 bar apart, each known to 2 x 0.1/sqrt(12) bar: that x sqrt(2)/150 in 1/1, times 100 in %."""
    value = slope("200 9.6\n50 9.5").values[SLOPE]
    half = 100 * 2 * 0.1 / 12**0.5 * 2**0.5 / 150

    assert value.low is not None
    assert float(value.value - value.low) == pytest.approx(half, abs=1.2e-3)
    # 0.058 / sqrt(2 * 75^2) * 100 is 0.0547; the last place goes outwards.
    assert (str(value.low), str(value.value), str(value.high)) == ("0.0119", "0.0667", "0.1215")
    assert slope("200 9.55\n50 9.5").warnings == (
        "Lock-up stays with the supply, as far as this instrument tells; with the design balanced it stays.",
    )


@pytest.mark.parametrize(
    ("high", "verdict"), [("1", Verdict.WITHIN), ("0.8", Verdict.INCONCLUSIVE), ("0.7", Verdict.OUTSIDE)]
)
def test_it_is_judged_by_the_plans_limit(high: str, verdict: Verdict) -> None:
    assert slope("200 10.2\n50 9.0", "unbalanced piston", high=high).verdict == verdict


def test_it_has_no_interval_without_an_instrument() -> None:
    assert slope("200 10.2\n50 9.0", instrument=None).values[SLOPE].low is None


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("200 9.5\n160 9.4", "The supplies lie less than 50 bar apart, too close to tell a slope."),
        ("200 9.5\n150.1 9.4", "The supplies lie less than 50 bar apart, too close to tell a slope."),
        ("200 200\n50 9.4", "A lock-up is not below its supply: are the columns the other way round?"),
        ("1000.1 9.5\n50 9.4", "Each pressure is to be above 0 and at most 1000 bar."),
        ("9.5 200\n9.4 50", "A lock-up is not below its supply: are the columns the other way round?"),
        ("200 0\n50 9.4", "Each pressure is to be above 0 and at most 1000 bar."),
        ("200 -1\n50 9.4", "Each pressure is to be above 0 and at most 1000 bar."),
        ("2000 9.5\n50 9.4", "Each pressure is to be above 0 and at most 1000 bar."),
    ],
)
def test_it_refuses_what_cannot_be_meant(rows: str, said: str) -> None:
    with pytest.raises(BadFigures) as caught:
        slope(rows)
    assert ("rows", said) in caught.value.reasons


def test_it_asks_for_two_supplies() -> None:
    with pytest.raises(BadFigures, match="2 to 100 lines"):
        slope("200 9.5")


@pytest.mark.parametrize("rows", ["200 9.5\n150 9.5", "1000 9.5\n50 9.5", "200 0.001\n50 0.001"])
def test_it_takes_pressures_up_to_their_bounds(rows: str) -> None:
    assert slope(rows).values[SLOPE].value == 0
