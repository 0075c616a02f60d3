"""The proof of a hose: by what it held at the end, against 1.5 times its working pressure.

Source: 29 CFR 1910.430(c) and 46 CFR 197.456, as read: surface-supply hoses are tested to 1.5 times the working pressure.
"""

from decimal import Decimal

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.proof_pressure import COMPUTATION, HELD, LOST, SHARE
from jobs.bench.methods.verdicts import Instrument, Limit, Rule, Verdict
from jobs.bench.methods.worked import Result, judge

LIMIT = Limit(SHARE, "percent", low=Decimal(150), decision=Rule.SIMPLE)
GAUGE = Instrument(resolution=Decimal("0.5"), range_high=Decimal(60))
HELD_WELL = {"working": "20", "reached": "30", "left": "30", "held": "10"}


def proved(typed: dict[str, str], limit: Limit = LIMIT, instrument: Instrument | None = GAUGE) -> Result:
    return judge(COMPUTATION, HELD_WELL | typed, [limit], instrument)


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [
        ({}, Verdict.WITHIN),
        ({"left": "29.9"}, Verdict.OUTSIDE),
        ({"working": "300 psi", "reached": "450 psi", "left": "450 psi"}, Verdict.WITHIN),
        ({"working": "300 psi", "reached": "449 psi", "left": "449 psi"}, Verdict.OUTSIDE),
        ({"reached": "60"}, Verdict.INCONCLUSIVE),
    ],
)
def test_it_works(typed: dict[str, str], verdict: Verdict) -> None:
    """Exactly 1.5 times is enough; what it held at the end counts; the end of the gauge's scale tells nothing."""
    assert proved(typed).verdict == verdict


def test_it_tells_what_was_lost_and_for_how_long_it_was_held() -> None:
    values = proved({"reached": "31", "left": "30.5", "held": "90 s"}).values
    assert (values[LOST].value, values[HELD].value, values[SHARE].value) == (
        Decimal("0.5"),
        Decimal("1.5"),
        Decimal("152.5"),
    )


def test_it_takes_the_step_of_the_gauge_into_the_interval() -> None:
    guarded = Limit(SHARE, "percent", low=Decimal(150))
    # 0.5 bar / sqrt(12) x 2 = 0.29 bar, rounded up, which is 1.45 % of 20 bar.
    assert proved({}, guarded).verdict == Verdict.INCONCLUSIVE
    assert proved({"reached": "30.3", "left": "30.3"}, guarded).verdict == Verdict.WITHIN
    assert proved({}, guarded).values[SHARE].low == Decimal("148.55")
    assert proved({"reached": "40", "left": "40"}, guarded, None).verdict == Verdict.INCONCLUSIVE


@pytest.mark.parametrize(
    ("typed", "keys"),
    [
        ({"left": "31"}, ["left"]),
        ({"working": "0", "held": "0"}, ["working", "held"]),
        ({"reached": "30 min"}, ["reached"]),
    ],
)
def test_it_refuses_what_cannot_be_meant(typed: dict[str, str], keys: list[str]) -> None:
    with pytest.raises(BadFigures) as refused:
        proved(typed)
    assert [key for key, _ in refused.value.reasons] == keys


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [("working", "1", "1000"), ("reached", "0", "3000"), ("left", "0", "3000"), ("held", "0.1", "1440")],
)
def test_it_takes_figures_up_to_their_bounds(key: str, low: str, high: str) -> None:
    held = {"working": "20", "reached": "3000", "left": "0", "held": "5"}
    for figure in (low, high):
        judge(COMPUTATION, held | {key: figure})
    for beyond in (Decimal(low) - Decimal("0.01"), Decimal(high) + Decimal("0.01")):
        with pytest.raises(BadFigures, match=f"is to be {low} to {high}"):
            judge(COMPUTATION, held | {key: str(beyond)})
