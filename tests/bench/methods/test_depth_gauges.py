from decimal import Decimal

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.depth_gauges import COMPUTATION, DEPTH_DIFFERENCE, DIFFERENCE
from jobs.bench.methods.verdicts import Instrument, Limit, Rule, Verdict
from jobs.bench.methods.worked import Result, judge

GIVEN = {"full_scale": "60", "first": "30", "second": "30.6"}


def compare(more: dict[str, str] | None = None, instrument: Instrument | None = None) -> Result:
    return judge(COMPUTATION, GIVEN | (more or {}), (), instrument)


def test_it_works() -> None:
    values = compare().values
    assert (values[DIFFERENCE].value, values[DIFFERENCE].unit) == (Decimal(1), "percent")
    assert (values[DEPTH_DIFFERENCE].value, values[DEPTH_DIFFERENCE].unit) == (Decimal("0.6"), "m")
    assert {(value.low, value.high) for value in values.values()} == {(None, None)}


def test_it_tells_the_shallower_from_the_deeper() -> None:
    values = compare({"second": "29.4"}).values
    assert (values[DIFFERENCE].value, values[DEPTH_DIFFERENCE].value) == (Decimal(1), Decimal("-0.6"))


@pytest.mark.parametrize(
    ("high", "verdict"), [("2", Verdict.WITHIN), ("1", Verdict.INCONCLUSIVE), ("0.5", Verdict.OUTSIDE)]
)
def test_it_carries_the_step_at_both_readings(high: str, verdict: Verdict) -> None:
    step = Instrument(resolution=Decimal("0.1"))
    result = judge(COMPUTATION, GIVEN, [Limit(DIFFERENCE, "percent", high=Decimal(high))], step)
    deeper, percent = result.values[DEPTH_DIFFERENCE], result.values[DIFFERENCE]
    half = Decimal("0.058") * Decimal(2).sqrt()
    assert deeper.low == pytest.approx(Decimal("0.6") - half)
    assert percent.high == pytest.approx(1 + half / 60 * 100)
    assert result.verdict == verdict
    assert compare(instrument=Instrument()).values[DIFFERENCE].low is None


def test_it_takes_a_limit_in_feet() -> None:
    limit = Limit(DEPTH_DIFFERENCE, "ft", Decimal(0), Decimal(3), decision=Rule.SIMPLE)
    assert judge(COMPUTATION, GIVEN | {"second": "33 m"}, [limit]).verdict == Verdict.OUTSIDE
    assert judge(COMPUTATION, GIVEN, [limit]).verdict == Verdict.WITHIN


@pytest.mark.parametrize(
    ("more", "key", "said"),
    [
        ({"full_scale": ""}, "full_scale", "Full scale is missing."),
        ({"first": ""}, "first", "Reading of the master, or of the first gauge is missing."),
        ({"second": ""}, "second", "Reading of the gauge compared with it is missing."),
        ({"full_scale": "0"}, "full_scale", "Full scale is to be 1 to 1000 m."),
        ({"full_scale": "1001"}, "full_scale", "Full scale is to be 1 to 1000 m."),
        ({"first": "-1"}, "first", "Reading of the master, or of the first gauge is to be 0 to 1000 m."),
        ({"second": "-11"}, "second", "Reading of the gauge compared with it is to be -10 to 1000 m."),
        ({"second": "60.1"}, "second", "The reading lies beyond the full scale."),
        ({"first": "60.1"}, "first", "The reading lies beyond the full scale."),
        ({"first": "2 bar"}, "first", "Reading of the master, or of the first gauge: bar is a pressure and m a length; they cannot be converted."),
    ],
)  # fmt: skip
def test_it_refuses_what_cannot_be_meant(more: dict[str, str], key: str, said: str) -> None:
    with pytest.raises(BadFigures) as caught:
        compare(more)
    assert caught.value.reasons == ((key, said),)


def test_it_takes_readings_up_to_the_full_scale_and_tells_every_reason_at_once() -> None:
    assert compare({"first": "60", "second": "60"}).values[DIFFERENCE].value == 0
    with pytest.raises(BadFigures) as caught:
        compare({"first": "61", "second": "61"})
    assert [key for key, _ in caught.value.reasons] == ["first", "second"]
