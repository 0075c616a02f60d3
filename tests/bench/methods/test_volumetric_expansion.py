"""Volumetric expansion: exact figures, the plan's operator kept, and figures that cannot be."""

from decimal import Decimal
from fractions import Fraction

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.finding import Finding
from jobs.bench.methods.verdicts import Instrument, Limit, Rule, Verdict
from jobs.bench.methods.volumetric_expansion import COMPUTATION, POSITIVE, permanent_share
from jobs.bench.methods.worked import Result, Value, judge

TYPED = {"required_pressure": "4000", "pressure": "4010", "total": "60.0", "permanent": "6.0"}
GAUGE = {"gauge_full_scale": "8000", "gauge_accuracy": "0.5 %"}
CALIBRATED = {
    "calibrated_pressure": "5000",
    "calibrated_expansion": "104.2",
    "calibrated_pressure_read": "5000",
    "calibrated_expansion_read": "104.2",
    "calibrated_permanent": "0",
}


def share(high: str = "10", *, inclusive: bool = True, decision: Rule = Rule.SIMPLE) -> Limit:
    return Limit(
        "permanent share", "percent", None, Decimal(high), high_inclusive=inclusive, decision=decision
    )


def judged(limit: Limit, instrument: Instrument | None = None, /, **changed: str) -> Result:
    return judge(COMPUTATION, TYPED | changed, [limit], instrument)


def test_it_works() -> None:
    result = judged(share())
    assert result.verdict == Verdict.WITHIN
    assert result.values == {
        "elastic expansion": Value(Decimal("54.0"), "ml"),
        "permanent expansion": Value(Decimal("6.0"), "ml"),
        "permanent share": Value(Decimal(10), "percent"),
        "test pressure": Value(Decimal(4010), "psi"),
    }
    said = "Permanent share 10 % is within: limit at most 10 %, judged by the value alone."
    assert result.decisions["permanent share"].sentence == said


@pytest.mark.parametrize(
    ("permanent", "high", "inclusive", "verdict"),
    [
        ("6.0", "10", True, Verdict.WITHIN),
        ("6.0", "10", False, Finding.CONDEMN),
        ("5.999999999999", "10", False, Verdict.WITHIN),
        ("6.000000000001", "10", True, Finding.CONDEMN),
        ("6.0", "5", True, Finding.CONDEMN),
        ("7.2", "12", True, Verdict.WITHIN),
        ("0", "10", True, Verdict.WITHIN),
        ("60", "10", True, Finding.CONDEMN),
        ("60", "100", True, Verdict.WITHIN),
    ],
)
def test_it_keeps_the_operator_of_the_rule(
    permanent: str, high: str, inclusive: bool, verdict: Verdict | Finding
) -> None:
    assert judged(share(high, inclusive=inclusive), permanent=permanent).verdict == verdict


@pytest.mark.parametrize("more", ["0.000000000001", "-0.000000000001"])
def test_it_tells_the_smallest_difference_that_can_be_typed(more: str) -> None:
    total = Decimal("999999999999.999999999990")
    permanent = total / 10 + Decimal(more)
    assert (permanent_share(permanent, total) > 10) is (Decimal(more) > 0)
    assert permanent_share(permanent, total) != 10


@pytest.mark.parametrize("more", [1, -1])
def test_it_never_rounds_onto_the_limit(more: int) -> None:
    found = permanent_share(Decimal(10**40 + more), Decimal(10**41))
    assert found != 10
    assert (found > 10) is (more > 0)


@pytest.mark.parametrize(("permanent", "total"), [("1", "3"), ("2", "3"), ("1", "7"), ("0.3", "56.3")])
def test_it_keeps_28_digits_and_never_rounds_onto_a_shorter_number(permanent: str, total: str) -> None:
    found = permanent_share(Decimal(permanent), Decimal(total))
    exact = Fraction(permanent) * 100 / Fraction(total)
    assert len(found.as_tuple().digits) == 28
    assert abs(Fraction(found) - exact) < Fraction(1, 10**25)
    assert found.as_tuple().digits[-1] not in (0, 5)


def test_it_judges_no_share_by_an_interval() -> None:
    result = judged(share(decision=Rule.GUARDED), Instrument(resolution=Decimal("0.1")))
    assert result.verdict == Verdict.INCONCLUSIVE
    assert result.values["permanent share"].low is None


def test_it_reckons_with_the_step_of_the_expansion_device() -> None:
    values = judged(share(), Instrument(resolution=Decimal("0.1"))).values
    # 2 x 0.1/sqrt(12) = 0.0577, for a difference x sqrt(2) = 0.0816 of the unrounded, both rounded up.
    assert values["permanent expansion"] == Value(Decimal("6.0"), "ml", Decimal("5.942"), Decimal("6.058"))
    assert values["elastic expansion"] == Value(Decimal("54.0"), "ml", Decimal("53.917"), Decimal("54.083"))


def test_it_has_no_interval_from_an_instrument_of_which_nothing_is_known() -> None:
    values = judged(share(), Instrument()).values
    assert values["permanent expansion"].low is values["elastic expansion"].low is None


@pytest.mark.parametrize(
    ("low", "decision", "verdict"),
    [
        ("3970", Rule.GUARDED, Verdict.WITHIN),
        ("3971", Rule.GUARDED, Verdict.INCONCLUSIVE),
        ("4051", Rule.GUARDED, Verdict.OUTSIDE),
        ("4010", Rule.SIMPLE, Verdict.WITHIN),
        ("4011", Rule.SIMPLE, Verdict.OUTSIDE),
    ],
)
def test_it_reckons_with_the_accuracy_of_the_gauge(low: str, decision: Rule, verdict: Verdict) -> None:
    limit = Limit("test pressure", "psi", low=Decimal(low), decision=decision)
    assert judged(limit, **GAUGE).verdict == verdict


def test_it_condemns_by_the_share_alone() -> None:
    assert (
        judged(Limit("elastic expansion", "cc", high=Decimal(50), decision=Rule.SIMPLE)).verdict
        == Verdict.OUTSIDE
    )


@pytest.mark.parametrize("unit", ["cc", "mL", "ml"])
def test_it_takes_cubic_centimetres_and_millilitres(unit: str) -> None:
    result = judged(share(), total=f"11.2 {unit}", permanent=f"1.12 {unit}")
    assert result.values["permanent share"].value == 10


@pytest.mark.parametrize(
    ("marked", "warned"), [("53.9", ["Elastic expansion 54.0 mL is above the marked 53.9 mL: no plus mark."]), ("54", [])]
)  # fmt: skip
def test_it_says_when_a_plus_mark_is_lost(marked: str, warned: list[str]) -> None:
    result = judged(share(), **GAUGE, **CALIBRATED, rejection_elastic=marked)
    assert (result.verdict, list(result.warnings)) == (Verdict.WITHIN, warned)


@pytest.mark.parametrize(
    ("total", "verdict"), [("99.9", Verdict.WITHIN), ("100", Verdict.INCONCLUSIVE), ("101", Verdict.INCONCLUSIVE)]
)  # fmt: skip
def test_it_doubts_an_expansion_beyond_the_device(total: str, verdict: Verdict) -> None:
    device = Instrument(range_high=Decimal(100))
    assert judged(share(), device, total=total).verdict == verdict


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("total", "", "Total expansion is missing."),
        ("permanent", "", "Permanent expansion is missing."),
        ("pressure", "", "Test pressure reached is missing."),
        ("required_pressure", "", "Test pressure asked for is missing."),
        ("permanent", "-0.1", "Permanent expansion cannot be below 0: the apparatus or the figure is at fault."),
        ("permanent", "60.1", "Permanent expansion cannot be above the total: the apparatus or the figure is at fault."),
        ("total", "12 psi", "Total expansion: psi is a pressure and ml a volume; they cannot be converted."),
        ("total", "1e3", "Total expansion: '1e3' is not a plain number such as 9.5 or -12."),
        ("pressure", "NaN", "Test pressure reached: 'NaN' is not a plain number such as 9.5 or -12."),
        ("permanent", "1234567890123", "Permanent expansion: '1234567890123' is not a plain number such as 9.5 or -12."),
    ],
)  # fmt: skip
def test_it_refuses_figures_that_cannot_be(key: str, text: str, said: str) -> None:
    with pytest.raises(BadFigures) as caught:
        judged(share(), **{key: text})
    assert caught.value.reasons == ((key, said),)


@pytest.mark.parametrize("text", ["0", "-1"])
@pytest.mark.parametrize("key", POSITIVE)
def test_it_refuses_what_must_be_above_0(key: str, text: str) -> None:
    given = {**GAUGE, **CALIBRATED, "permanent": "0", key: text}
    with pytest.raises(BadFigures) as caught:
        judged(share(), **given)
    assert caught.value.reasons[0][0] == key
    assert caught.value.reasons[0][1].endswith(
        "must be more than 0: the apparatus or the figure is at fault."
    )


def test_it_works_with_the_largest_figures_that_can_be_typed() -> None:
    largest = "999999999999.999999999999"
    result = judged(share("100"), required_pressure="1", pressure=largest, total=largest, permanent=largest)
    assert result.values["permanent share"].value == 100
    assert result.values["elastic expansion"].value == 0


def test_it_tells_all_that_cannot_be_at_once() -> None:
    with pytest.raises(BadFigures) as caught:
        judged(share(), total="0", permanent="1", pressure="0", fault="other")
    assert [key for key, _ in caught.value.reasons] == ["pressure", "total", "permanent", "earlier_pressure"]
