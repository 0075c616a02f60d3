"""Efforts and the head of water in a second stage's case.

Sources: the exhalation limit, California Code of Regulations, Title 8, section 6057(b)(1): 3 inches of water at 15 breaths a
minute (read). The heads are density x g x height with sea water of 1025 kg/m3 and standard gravity (computed). The usual
cracking efforts are common practice, no source.
"""

from decimal import Decimal

import pytest

from jobs.bench.methods.breathing_effort import COMPUTATION, EFFORT, head_mbar
from jobs.bench.methods.units import convert
from jobs.bench.methods.verdicts import Limit, Rule, Verdict
from jobs.bench.methods.worked import judge


@pytest.mark.parametrize(
    ("height_mm", "mbar", "inches"),
    [("10", "1.0052", "0.4035"), ("20", "2.0104", "0.8071"), ("30", "3.0155", "1.2106")],
)
def test_it_weighs_the_water_in_a_case(height_mm: str, mbar: str, inches: str) -> None:
    head = head_mbar(Decimal(height_mm))
    assert head.quantize(Decimal("0.0001")) == Decimal(mbar)
    assert convert(head, "mbar", "inH2O").quantize(Decimal("0.0001")) == Decimal(inches)


@pytest.mark.parametrize(
    ("inches", "mbar"), [("1.0", "2.49"), ("1.5", "3.74"), ("2.0", "4.98"), ("20", "49.8")]
)
def test_it_converts_efforts_of_the_trade(inches: str, mbar: str) -> None:
    found = judge(COMPUTATION, {"first": f"{inches} inH2O"}).values[EFFORT].value
    assert found.quantize(Decimal(mbar)) == Decimal(mbar)


@pytest.mark.parametrize(("inches", "verdict"), [("3", Verdict.WITHIN), ("3.01", Verdict.OUTSIDE)])
def test_it_judges_the_exhalation_limit_of_california(inches: str, verdict: Verdict) -> None:
    limit = Limit(EFFORT, "inH2O", high=Decimal(3), decision=Rule.SIMPLE)
    typed = {"first": f"{inches} inH2O", "rate": "15"}
    assert judge(COMPUTATION, typed, [limit]).verdict == verdict
