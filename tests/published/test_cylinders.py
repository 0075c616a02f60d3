"""Cylinders against published figures.

Status beside each: READ, the passage was read in a public copy; READ-2nd, a secondary public page states it; from memory,
not confirmed in print; computed, worked out by other means than the code. "Letter" is an interpretation letter of the
United States' pipeline and hazardous materials agency; section numbers are those of 49 CFR.
"""

from decimal import Decimal, localcontext
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import brentq

from jobs.bench.methods import cylinder_rules as rules
from jobs.bench.methods import expansion_apparatus as apparatus
from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.cylinder_rules import Thread
from jobs.bench.methods.finding import Finding
from jobs.bench.methods.verdicts import Limit, Rule, Verdict
from jobs.bench.methods.volumetric_expansion import COMPUTATION, permanent_share
from jobs.bench.methods.worked import Result, judge

D = Decimal
CUBIC_INCH_CC = D("16.387064")  # the inch of 1959, exact


def judged(total: str, permanent: str, inclusive: bool = True, /, **more: str) -> Result:
    limit = Limit("permanent share", "percent", high=D(10), high_inclusive=inclusive, decision=Rule.SIMPLE)
    given = {"required_pressure": "4000", "pressure": "4000", "total": total, "permanent": permanent}
    return judge(COMPUTATION, given | more, [limit])


# total, permanent, elastic, share to four places, whether exactly 10 % passes, verdict
EXPANSIONS = [
    # Worked example on a public forum, READ-2nd.
    ("56.3", "0.3", "56.0", "0.5329", True, Verdict.WITHIN),
    # "Exceeds 10 %", 180.205(j), from memory.
    ("60.0", "6.0", "54.0", "10.0000", True, Verdict.WITHIN),
    # "Less than 10 %", MIL-STD-1411B 5.3.1.1, READ.
    ("60.0", "6.0", "54.0", "10.0000", False, Finding.CONDEMN),
    ("55.0", "5.6", "49.4", "10.1818", True, Finding.CONDEMN),  # computed
    ("11.2", "1.12", "10.08", "10.0000", True, Verdict.WITHIN),  # computed; a float gives 10.000000000000002
]


@pytest.mark.parametrize(("total", "permanent", "elastic", "percent", "inclusive", "verdict"), EXPANSIONS)
def test_it_works(
    total: str, permanent: str, elastic: str, percent: str, inclusive: bool, verdict: Verdict | Finding
) -> None:
    result = judged(total, permanent, inclusive)
    assert result.values["elastic expansion"].value == D(elastic)
    assert round(result.values["permanent share"].value, 4) == D(percent)
    assert result.verdict == verdict


def test_it_earns_a_plus_in_the_worked_example() -> None:
    """Test at 4000 psi, elastic 56.0, marked rejection elastic expansion 66.3: earns a plus. READ-2nd."""
    assert not any("plus mark" in said for said in judged("56.3", "0.3", rejection_elastic="66.3").warnings)
    assert not rules.plus_refusals(
        specification="3AA",
        elastic=D("56.0"),
        rejection=D("66.3"),
        disc_burst=D(4000),
        test_pressure=D(4000),
        dry_gas=True,
        corroded=False,
    )


def test_it_never_condemns_at_exactly_ten_per_cent_where_floats_do() -> None:
    """Of the 1400 readings from 10.0 to 149.9 cc with exactly 10 %, floats condemn 40: computed."""
    totals = [Decimal(tenths) / 10 for tenths in range(100, 1500)]
    by_float = np.array([float(total / 10) / float(total) * 100 for total in totals])
    assert (by_float > 10).sum() == 40
    assert float("1.12") / float("11.2") * 100 == 10.000000000000002
    assert all(permanent_share(total / 10, total) == 10 for total in totals)


def test_it_compares_as_permanent_times_100_does_with_limit_times_total() -> None:
    """Against exact fractions, over random readings near the limit: computed."""
    chance = np.random.default_rng(1)
    for total, limit, off in zip(
        chance.integers(100, 10**12, 2000), chance.integers(1, 1000, 2000), chance.integers(-2, 3, 2000), strict=True
    ):  # fmt: skip
        permanent = int(total) * int(limit) // 1000 + int(off)
        exact = Fraction(permanent * 100) - Fraction(int(limit), 10) * int(total)
        found = permanent_share(D(permanent), D(int(total))) - D(int(limit)) / 10
        assert (found > 0, found < 0) == (exact > 0, exact < 0)


@pytest.mark.parametrize(("total", "permanent"), [("0", "0"), ("5", "5.1"), ("5", "-0.1"), ("-5", "-6")])
def test_it_refuses_what_only_a_faulty_apparatus_gives(total: str, permanent: str) -> None:
    """After the case in letter 12-0176, READ."""
    with pytest.raises(BadFigures, match="at fault"):
        judged(total, permanent)


# 180.209(a) table 1, 5/3 of service pressure, READ.
@pytest.mark.parametrize(
    ("service", "test"), [("1800", "3000"), ("2250", "3750"), ("2400", "4000"), ("3000", "5000"), ("3442", "5736.67")]
)  # fmt: skip
def test_it_tests_at_five_thirds(service: str, test: str) -> None:
    assert round(rules.least_test_pressure("3AA", D(service)), 2) == D(test)


def test_it_counts_more_than_ninety_per_cent_as_a_test() -> None:
    """Letter 25-0004, READ: 3AA 1800, test at 3000, 2700 is a check still."""
    assert apparatus.is_system_check(D(2700), D(3000))
    assert not apparatus.is_system_check(D(2701), D(3000))


@pytest.mark.parametrize(("test", "again"), [("3000", "3100"), ("900", "990"), ("1000", "1100")])
def test_it_repeats_at_ten_per_cent_or_100_psi_more(test: str, again: str) -> None:
    """10 % or 100 psi, whichever is less: from memory."""
    assert apparatus.repeat_psi(D(test)) == D(again)


def test_it_fills_to_110_per_cent_under_a_plus() -> None:
    """173.302a(b), READ."""
    assert rules.plus_fill("3AA", D(2250)) == 2475
    assert rules.plus_fill("3AA", D(2400)) == 2640
    with pytest.raises(ValueError, match="A 3AL cylinder is never marked with a plus"):
        rules.plus_fill("3AL", D(3000))


def test_it_lets_a_gauge_serve_from_550_psi() -> None:
    """Letter 13-0131, READ: full scale 1100 psi, 0.5 %."""
    assert apparatus.gauge_error_psi(D(1100), D("0.5")) == D("5.5")
    assert apparatus.smallest_test_psi(D(1100), D("0.5")) == 550


# Full scale, accuracy, test pressure: letters 13-0131 (first two) and 15-0055 (0.6 % refused), READ.
@pytest.mark.parametrize(
    ("full_scale", "accuracy", "test", "verdict"),
    [
        ("1100", "0.5", "550", Verdict.WITHIN),
        ("1100", "0.5", "549", Verdict.INCONCLUSIVE),
        ("5000", "0.6", "4000", Verdict.INCONCLUSIVE),
    ],
)
def test_it_doubts_a_gauge_that_may_not_serve(
    full_scale: str, accuracy: str, test: str, verdict: Verdict
) -> None:
    gauge = {"gauge_full_scale": full_scale, "gauge_accuracy": accuracy}
    assert judged("56.3", "0.3", required_pressure=test, pressure=test, **gauge).verdict == verdict


# Pressure, expansion and what is left of a calibrated cylinder of 5000 psi and 104.2 cc, a made-up one. Within 1 %: from
# memory. Nothing may be left: letter 07-0077, READ.
@pytest.mark.parametrize(
    ("pressure", "expansion", "left", "verdict"),
    [
        ("4950", "104.2", "0", Verdict.WITHIN),
        ("5050", "104.2", "0", Verdict.WITHIN),
        ("4949", "104.2", "0", Verdict.INCONCLUSIVE),
        ("5051", "104.2", "0", Verdict.INCONCLUSIVE),
        ("5000", "103.158", "0", Verdict.WITHIN),
        ("5000", "105.242", "0", Verdict.WITHIN),
        ("5000", "103.157", "0", Verdict.INCONCLUSIVE),
        ("5000", "105.243", "0", Verdict.INCONCLUSIVE),
        ("5000", "104.2", "0.1", Verdict.INCONCLUSIVE),
    ],
)
def test_it_stops_on_a_calibrated_cylinder_more_than_1_per_cent_off(
    pressure: str, expansion: str, left: str, verdict: Verdict
) -> None:
    check = {
        "calibrated_pressure": "5000",
        "calibrated_expansion": "104.2",
        "calibrated_pressure_read": pressure,
        "calibrated_expansion_read": expansion,
        "calibrated_permanent": left,
    }
    assert judged("56.3", "0.3", **check).verdict == verdict


# Pressure, outside and inside diameter, stress: the formula of 178.36, 178.37, 178.45 and 178.46, READ; figures computed.
STRESSES = [
    ("4000", "8", "7", "27413.33"),
    ("3750", "6.8", "6.4", "54329.55"),
    ("3750", "6.80", "6.42", "57179.03"),  # a wall of 0.190 in
    ("5000", "7.25", "6.25", "31094.91"),
]


@pytest.mark.parametrize(("pressure", "outside", "inside", "stress"), STRESSES)
def test_it_finds_the_stress_in_a_wall(pressure: str, outside: str, inside: str, stress: str) -> None:
    assert round(rules.wall_stress(D(pressure), D(outside), D(inside)), 2) == D(stress)


@pytest.mark.parametrize(("pressure", "outside", "inside", "stress"), STRESSES)
def test_it_finds_back_the_bore(pressure: str, outside: str, inside: str, stress: str) -> None:
    """The closed form against a root found by SciPy: computed."""
    exact = rules.wall_stress(D(pressure), D(outside), D(inside))
    assert abs(rules.inside_diameter(exact, D(pressure), D(outside)) - D(inside)) < D("1e-24")

    def off(bore: float) -> float:
        return float(rules.wall_stress(D(pressure), D(outside), D(bore))) - float(stress)

    root = brentq(off, 0.1, float(outside) - 1e-6, xtol=1e-12)
    assert float(rules.inside_diameter(D(stress), D(pressure), D(outside))) == pytest.approx(root, rel=1e-9)


def test_it_allows_a_3al_less_than_that() -> None:
    """178.46: strengths of 6061-T6 READ; 80 % of yield (28,000) and 67 % of tensile (25,460) from memory."""
    assert rules.allowed_stress_3al(D(35000), D(38000)) == 25460
    assert rules.wall_stress(D(5000), D("7.25"), D("6.25")) > 25460
    assert D("0.80") * 35000 == 28000


# K, volume in cc, test pressure, allowed stress, rejection elastic expansion: the formula from memory.
ELASTIC = [
    ("1.32E-7", D(2640) * CUBIC_INCH_CC, "3775", "67000", "230.14"),  # MIL-STD-1411B table III has 230: READ
    ("1.31E-7", D(2640) * CUBIC_INCH_CC, "3358.33", "53000", "181.2"),  # the same table has 178: READ
    ("1.30E-7", D(11950), "3750", "67000", "62.5969"),  # a made-up cylinder: computed
]


@pytest.mark.parametrize(("factor", "volume", "test", "stress", "found"), ELASTIC)
def test_it_works_out_the_rejection_elastic_expansion(
    factor: str, volume: Decimal, test: str, stress: str, found: str
) -> None:
    elastic = rules.rejection_elastic(D(factor), volume, D(stress), D(test))
    assert elastic.quantize(D(found)) == D(found)
    assert abs(rules.average_stress(D(factor), volume, elastic, D(test)) - D(stress)) < D("1e-20")


def test_it_takes_the_stress_back_from_a_tabulated_elastic_expansion() -> None:
    """MIL-STD-1411B table III, 3A2015: 178 cc (READ) makes 52,051 psi, less than the 53,000 allowed: computed."""
    with localcontext(prec=28):
        stress = rules.average_stress(D("1.31E-7"), D(2640) * CUBIC_INCH_CC, D(178), D(2015) * 5 / 3)
    assert round(stress) == 52051


# CGA C-6.1 4.2 as quoted on public pages, READ-2nd.
@pytest.mark.parametrize(
    ("wall", "deepest"), [(D("0.320"), "0.048"), (D("0.471"), "0.07065"), (None, "0.031")]
)
def test_it_limits_a_dig(wall: Decimal | None, deepest: str) -> None:
    assert rules.dig_depth_limit_in(wall) == D(deepest)


def test_it_condemns_a_crack_of_two_threads() -> None:
    """Part 180, appendix C, READ; a shorter one is for CGA C-6.1 to judge."""
    assert rules.neck_crack_6351(D(2)) == Finding.CONDEMN
    assert rules.neck_crack_6351(D("2.5")) == Finding.CONDEMN
    assert rules.neck_crack_6351(D("1.9")) is None


def test_it_refuses_a_metric_valve_in_an_inch_neck() -> None:
    """A diving safety organisation's article, READ-2nd."""
    assert rules.thread_refusal(Thread.NPSM_3_4, Thread.M25X2) == (
        "The neck is 3/4-14 NPSM and the valve is M25x2: they must not be put together. "
        "The valve starts in this neck and then binds: that mismatch has been fatal."
    )


# Service pressure and the usual disc for it, trade table, READ-2nd. Its test pressure as marked: the table's own, rounded.
@pytest.mark.parametrize(("service", "disc"), [("2015", "3360"), ("2400", "4000"), ("3000", "5000")])
def test_it_holds_a_disc_against_the_marked_test_pressure(service: str, disc: str) -> None:
    assert rules.disc_refusal(D(disc), D(disc)) == ""
    reckoned = rules.least_test_pressure("3AA", D(service))
    assert (rules.disc_refusal(D(disc), reckoned) == "") is (service != "2015")
    assert round(rules.least_test_pressure("3AA", D(2015)), 2) == D("3358.33")
