from decimal import Decimal

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.gauge_check import COMPUTATION as CHECK
from jobs.bench.methods.gauge_check import (
    FALLING,
    HYSTERESIS,
    OF_ERROR,
    OF_HYSTERESIS,
    RISING,
    ZERO,
    advice_on_full_scale,
)
from jobs.bench.methods.verdicts import Instrument, Limit, Verdict
from jobs.bench.methods.worked import Result, judge

ROWS = "0 0 1\n50 51 52\n100 98 103"
GIVEN = {"span": "100", "rows": ROWS}
REFERENCE = Instrument(resolution=Decimal("0.1"))


def check(more: dict[str, str] | None = None, instrument: Instrument | None = None) -> Result:
    return judge(CHECK, GIVEN | (more or {}), (), instrument)


def value(result: Result, quantity: str) -> Decimal:
    return result.values[quantity].value


def at_most(quantity: str, high: str) -> Limit:
    return Limit(quantity, "percent", high=Decimal(high))


def test_it_works() -> None:
    result = check()
    found = {name: each.value for name, each in result.values.items()}
    assert found == {RISING: 2, FALLING: 3, HYSTERESIS: 5, ZERO: 1}
    assert {(each.low, each.high) for each in result.values.values()} == {(None, None)}
    assert result.warnings == (
        "Most wrong rising at 100, where it shows 98.",
        "Most wrong falling at 100, where it shows 103.",
    )


def test_it_names_its_quantities() -> None:
    assert CHECK.quantities == {
        "error rising": "percent",
        "error falling": "percent",
        "hysteresis": "percent",
        "zero error": "percent",
        "share of allowed error": "percent",
        "share of allowed hysteresis": "percent",
    }


@pytest.mark.parametrize(
    ("high", "verdict"),
    [("2.1", Verdict.WITHIN), ("2", Verdict.INCONCLUSIVE), ("1.9", Verdict.OUTSIDE)],
)
def test_it_carries_the_step_of_the_reference(high: str, verdict: Verdict) -> None:
    result = judge(CHECK, GIVEN, [at_most(RISING, high)], REFERENCE)
    assert (result.values[RISING].low, result.values[RISING].high) == (Decimal("1.942"), Decimal("2.058"))
    low = result.values[HYSTERESIS].low
    assert low == pytest.approx(5 - Decimal("0.058") * Decimal(2).sqrt(), abs=Decimal("1e-20"))
    assert result.verdict == verdict


def test_it_has_no_interval_when_nothing_is_known_of_the_reference() -> None:
    assert check(instrument=Instrument(range_high=Decimal(400))).values[HYSTERESIS].low is None


@pytest.mark.parametrize(
    ("unit", "half"), [("bar", "0.058"), ("MPa", "0.0058"), ("mbar", "58"), ("kPa", "5.8")]
)
def test_it_carries_the_step_into_the_unit_of_the_rows(unit: str, half: str) -> None:
    assert check({"unit": unit}, REFERENCE).values[RISING].high == 2 + Decimal(half)


def test_it_carries_the_step_into_psi() -> None:
    high = check({"unit": "psi"}, REFERENCE).values[RISING].high
    assert high == pytest.approx(2 + Decimal("0.058") * Decimal("14.5037737730"), abs=Decimal("1e-9"))


@pytest.mark.parametrize(
    ("rows", "zero"),
    [("0 0 0\n100 100 100", "0"), ("0 -2 1\n100 100 100", "2"), ("0 1 -3\n100 100 100", "3"), ("1 1 1\n100 100 100", None)],
)  # fmt: skip
def test_it_finds_the_zero_error_only_at_zero(rows: str, zero: str | None) -> None:
    found = check({"rows": rows}).values.get(ZERO)
    assert (found and found.value) == (None if zero is None else Decimal(zero))


def test_it_takes_a_reading_below_as_seriously_as_one_above() -> None:
    result = check({"rows": "0 0 0\n50 45 46\n100 101 102"})
    found = [value(result, name) for name in (RISING, FALLING, HYSTERESIS)]
    assert found == [Decimal(5), Decimal(4), Decimal(1)]
    assert judge(CHECK, GIVEN | {"rows": "0 0 0\n100 90 90"}, [at_most(RISING, "5")], REFERENCE).verdict == (
        Verdict.OUTSIDE
    )


@pytest.mark.parametrize(
    ("more", "error", "hysteresis"),
    [
        ({"class": "4"}, "75", None),
        ({"class": "4", "rule": "EN 837-1"}, "75", None),
        ({"class": "4", "rule": "in service"}, "50", "125"),
        ({"class": "2.5", "rule": "in service"}, "78.94736842105263157894736842", "200"),
        ({"class": "0.1"}, "3000", None),
        ({"allowed": "10"}, "30", None),
        ({}, None, None),
    ],
)
def test_it_holds_the_larger_error_against_what_is_allowed(
    more: dict[str, str], error: str | None, hysteresis: str | None
) -> None:
    values = check(more).values
    found = [values[name].value if name in values else None for name in (OF_ERROR, OF_HYSTERESIS)]
    assert found == [None if each is None else Decimal(each) for each in (error, hysteresis)]


def test_it_carries_the_step_into_what_is_allowed() -> None:
    values = check({"class": "4", "rule": "in service"}, REFERENCE).values
    assert values[OF_ERROR].high == pytest.approx((3 + Decimal("0.058")) / 6 * 100)
    assert values[OF_HYSTERESIS].high == pytest.approx((5 + Decimal("0.058") * Decimal(2).sqrt()) * 25)


def test_it_takes_the_larger_error_of_both_directions() -> None:
    assert value(check({"rows": "0 0 0\n100 104 101", "allowed": "10"}), OF_ERROR) == 40


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("0 0 0\n90 90 90", "The readings go from 0 to 90 of a span of 100: nothing is known beyond."),
        ("5 5 5\n100 100 100", "The readings go from 5 to 100 of a span of 100: nothing is known beyond."),
    ],
)
def test_it_says_where_nothing_was_read(rows: str, said: str) -> None:
    assert check({"rows": rows}).warnings[-1] == said


@pytest.mark.parametrize(
    ("range_high", "unit", "doubtful"),
    [("100", "bar", False), ("99", "bar", True), ("6", "psi", True), ("7", "psi", False)],
)
def test_it_doubts_a_reference_that_does_not_reach(range_high: str, unit: str, doubtful: bool) -> None:
    short = Instrument(resolution=Decimal("0.001"), range_high=Decimal(range_high))
    result = judge(CHECK, GIVEN | {"unit": unit}, [at_most(RISING, "50")], short)
    assert result.verdict == (Verdict.INCONCLUSIVE if doubtful else Verdict.WITHIN)
    assert (result.warnings[0].startswith("A reference pressure lies beyond")) is doubtful


@pytest.mark.parametrize(
    ("full_scale", "working", "advised"),
    [("129.9", "100", True), ("130", "100", False), ("160", "100", False), ("160.1", "100", True), ("1", None, False)],
)  # fmt: skip
def test_it_advises_on_the_full_scale(full_scale: str, working: str | None, advised: bool) -> None:
    said = advice_on_full_scale(Decimal(full_scale), None if working is None else Decimal(working))
    assert bool(said) is advised


def test_it_gives_its_advice_beside_the_readings() -> None:
    assert (
        check({"working": "50"})
        .warnings[-1]
        .startswith("Full scale is 200 % of the highest working pressure;")
    )
    assert not any("Full scale" in said for said in check({"working": "70"}).warnings)


@pytest.mark.parametrize(
    ("more", "key", "said"),
    [
        ({"span": ""}, "span", "Span of the gauge is missing."),
        ({"rows": ""}, "rows", "Readings is missing."),
        ({"span": "0"}, "span", "Span of the gauge is to be 0.001 to 1000000."),
        ({"span": "-100"}, "span", "Span of the gauge is to be 0.001 to 1000000."),
        ({"span": "1000001"}, "span", "Span of the gauge is to be 0.001 to 1000000."),
        ({"span": "NaN"}, "span", "Span of the gauge: 'NaN' is not a plain number such as 9.5 or -12."),
        ({"rows": "0 0 0"}, "rows", "Readings: 2 to 100 lines are asked for, 1 were typed."),
        ({"rows": "0 0\n1 1"}, "rows", "Readings: line 1 is to hold reference, rising, falling: 3 numbers."),
        ({"rows": "-1 0 0\n50 50 50"}, "rows", "Each reference is to be 0 to the span of 100."),
        ({"rows": "0 0 0\n100.1 100 100"}, "rows", "Each reference is to be 0 to the span of 100."),
        ({"rows": "50 50 50\n50.0 51 51"}, "rows", "A reference stands in two rows."),
        ({"rows": "0 101 0\n50 50 50"}, "rows", "A reading is further off than the whole span."),
        ({"rows": "0 0 0\n50 50 -51"}, "rows", "A reading is further off than the whole span."),
        ({"class": "3"}, "class", "Class of the gauge: '3' is none of 0.1, 0.25, 0.6, 1, 1.6, 2.5, 4."),
        ({"class": "1", "allowed": "2"}, "allowed", "Give the class or an allowed error, not both."),
        ({"allowed": "0"}, "allowed", "Allowed error instead of a class is to be 0.001 to 100 %."),
        ({"allowed": "101"}, "allowed", "Allowed error instead of a class is to be 0.001 to 100 %."),
        ({"rule": "in service"}, "rule", "The rule needs the class of the gauge."),
        ({"working": "0"}, "working", "Highest working pressure is to be 0.001 to 1000000."),
        ({"unit": "m"}, "unit", "Unit of all pressures here: 'm' is none of bar, psi, MPa, kPa, mbar."),
    ],
)  # fmt: skip
def test_it_refuses_what_cannot_be_meant(more: dict[str, str], key: str, said: str) -> None:
    with pytest.raises(BadFigures) as caught:
        check(more)
    assert caught.value.reasons == ((key, said),)


def test_it_takes_readings_a_whole_span_off_and_tells_every_reason_at_once() -> None:
    assert value(check({"rows": "0 100 0\n100 0 100"}), RISING) == 100
    with pytest.raises(BadFigures) as caught:
        check({"rows": "-1 0 0\n-1 0 0", "rule": "in service"})
    assert [key for key, _ in caught.value.reasons] == ["rows", "rows", "rule"]


def test_it_finds_where_it_is_most_wrong_in_the_middle() -> None:
    assert check({"rows": "0 0 1\n50 53 58\n100 99 101"}).warnings == (
        "Most wrong rising at 50, where it shows 53.",
        "Most wrong falling at 50, where it shows 58.",
    )


@pytest.mark.parametrize(("first", "last"), [("0.5", "100"), ("0", "99.5")])
def test_it_says_what_was_not_covered(first: str, last: str) -> None:
    said = f"The readings go from {first} to {last} of a span of 100: nothing is known beyond."
    assert said in check({"rows": f"{first} 1 1\n50 50 50\n{last} 99 99"}).warnings
