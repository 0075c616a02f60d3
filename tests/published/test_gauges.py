"""Gauges against printed rules and a computed example.

Each row names its source and how it is known: read in print, from memory, or computed.
"""

from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.depth_gauges import COMPUTATION as TWO_DEPTH_GAUGES
from jobs.bench.methods.depth_gauges import DEPTH_DIFFERENCE, DIFFERENCE
from jobs.bench.methods.gauge_check import (
    CLASSES,
    FALLING,
    HYSTERESIS,
    OF_ERROR,
    OF_HYSTERESIS,
    RISING,
    ZERO,
    advice_on_full_scale,
)
from jobs.bench.methods.gauge_check import COMPUTATION as GAUGE
from jobs.bench.methods.verdicts import Limit, Rule, Verdict
from jobs.bench.methods.worked import judge

# Computed: a gauge with a span of 300.
NOMINAL = [0, 50, 100, 150, 200, 250, 300]
UP = [0, 52, 103, 152, 201, 249, 298]
DOWN = [1, 55, 106, 155, 203, 250, 298]
GIVEN = {
    "span": "300",
    "rows": "\n".join(f"{a} {b} {c}" for a, b, c in zip(NOMINAL, UP, DOWN, strict=True)),
}


def verdict(given: dict[str, str], quantity: str) -> object:
    """What comes of a limit of 100 % on a share of what is allowed."""
    limit = Limit(quantity, "percent", high=Decimal(100), decision=Rule.SIMPLE)
    return judge(GAUGE, given, [limit]).verdict


def test_it_works() -> None:
    """Computed: at most 6 bar off, 2.0 % of span; hysteresis at most 3 bar, 1.0 %."""
    values = judge(GAUGE, GIVEN).values
    assert [values[name].value for name in (RISING, FALLING, HYSTERESIS)] == [
        Decimal(each) for each in (1, 2, 1)
    ]
    assert round(values[ZERO].value, 6) == Decimal("0.333333")


def test_it_agrees_with_numpy() -> None:
    nominal, up, down = (np.array(each, dtype=float) for each in (NOMINAL, UP, DOWN))
    values = judge(GAUGE, GIVEN).values
    assert float(values[RISING].value) == pytest.approx(np.abs(up - nominal).max() / 3)
    assert float(values[FALLING].value) == pytest.approx(np.abs(down - nominal).max() / 3)
    assert float(values[HYSTERESIS].value) == pytest.approx(np.abs(up - down).max() / 3)


@pytest.mark.parametrize(
    ("name", "rule", "quantity", "expected"),
    [
        ("1.6", "EN 837-1", OF_ERROR, Verdict.OUTSIDE),  # computed
        ("2.5", "EN 837-1", OF_ERROR, Verdict.WITHIN),  # computed
        ("1.6", "in service", OF_ERROR, Verdict.WITHIN),  # computed: its limit is 2.4
        ("1.6", "in service", OF_HYSTERESIS, Verdict.WITHIN),  # computed: 1.0 % of 1.6
        ("0.6", "in service", OF_HYSTERESIS, Verdict.OUTSIDE),  # computed: 1.0 % of 0.6
        ("1", "in service", OF_HYSTERESIS, Verdict.WITHIN),  # computed: 1.0 % of 1, which may be reached
    ],
)
def test_it_holds_the_example_against_its_class(
    name: str, rule: str, quantity: str, expected: Verdict
) -> None:
    assert verdict(GIVEN | {"class": name, "rule": rule}, quantity) == expected


@pytest.mark.parametrize(
    ("name", "in_service"),
    [
        # EN 837-1:1996, table 11, and German Eichordnung, annex 16: read
        ("0.1", "0.15"),
        ("0.25", "0.4"),
        ("0.6", "0.9"),
        ("1", "1.5"),
        ("1.6", "2.4"),
        ("2.5", "3.8"),
        ("4", "6"),
    ],
)
def test_it_knows_the_printed_classes(name: str, in_service: str) -> None:
    assert len(CLASSES) == 7
    for rule, allowed in (("EN 837-1", Decimal(name)), ("in service", Decimal(in_service))):
        given = {"span": "100", "rows": f"0 0 0\n100 {100 + allowed} 100", "class": name, "rule": rule}
        assert verdict(given, OF_ERROR) == Verdict.WITHIN
        over = given | {"rows": f"0 0 0\n100 {100 + allowed + Decimal('0.000001')} 100"}
        assert verdict(over, OF_ERROR) == Verdict.OUTSIDE


@pytest.mark.parametrize(
    ("name", "span", "off"),
    [
        # computed from the classes
        ("1.6", "300", "4.8"),
        ("1.6", "400", "6.4"),
        ("2.5", "400", "10"),
        ("1.6", "25", "0.4"),
        ("1", "16", "0.16"),
    ],
)
def test_it_allows_so_many_bar(name: str, span: str, off: str) -> None:
    for sign in (1, -1):
        rows = f"0 0 0\n{span} {Decimal(span) + sign * Decimal(off)} {span}"
        values = judge(GAUGE, {"span": span, "rows": rows, "class": name}).values
        assert values[OF_ERROR].value == 100


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        # 29 CFR 1910.430(g)(2): read; computed
        ("104.0 ft", Verdict.WITHIN),
        ("104.1 ft", Verdict.OUTSIDE),
        ("96.0 ft", Verdict.WITHIN),
        ("95.9 ft", Verdict.OUTSIDE),
    ],
)
def test_it_asks_for_a_test_where_two_depth_gauges_differ(second: str, expected: Verdict) -> None:
    limit = Limit(DIFFERENCE, "percent", high=Decimal(2), decision=Rule.SIMPLE)
    given = {"full_scale": "200 ft", "first": "100 ft", "second": second}
    assert judge(TWO_DEPTH_GAUGES, given, [limit]).verdict == expected


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        # NOAA Equipment Regulations, +3.0/-0.0 fsw between equivalent gauges: read
        ("102.9 ft", Verdict.WITHIN),
        ("103.1 ft", Verdict.OUTSIDE),
        ("99.9 ft", Verdict.OUTSIDE),
    ],
)
def test_it_lets_a_depth_gauge_read_deeper_only(second: str, expected: Verdict) -> None:
    limit = Limit(DEPTH_DIFFERENCE, "ft", Decimal(0), Decimal("3.0"), decision=Rule.SIMPLE)
    given = {"full_scale": "200 ft", "first": "100 ft", "second": second}
    assert judge(TWO_DEPTH_GAUGES, given, [limit]).verdict == expected


def test_it_allows_a_pressure_gauge_ten_percent_of_its_scale() -> None:
    """NOAA Equipment Regulations, +-10 % of scale against a master: read."""
    for shown, expected in (("110", Verdict.WITHIN), ("89.9", Verdict.OUTSIDE)):
        limit = Limit(RISING, "percent", high=Decimal(10), decision=Rule.SIMPLE)
        given = {"span": "100", "rows": f"0 0 0\n100 {shown} 100"}
        assert judge(GAUGE, given, [limit]).verdict == expected


@pytest.mark.parametrize(
    ("full_scale", "percent"),
    [
        # US Navy Diving Manual 4-6.1, 3000 psi: read. Its example calls 5000 satisfactory, against its own 160 %.
        ("4000", None),
        ("5000", "167 %"),
        ("3500", "117 %"),
        ("6000", "200 %"),
    ],
)
def test_it_advises_on_full_scale(full_scale: str, percent: str | None) -> None:
    said = advice_on_full_scale(Decimal(full_scale), Decimal(3000))
    assert (said == "") if percent is None else said.startswith(f"Full scale is {percent} of")
