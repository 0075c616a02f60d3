"""The two decision rules against published examples and chances.

Status beside each: *read second hand* in pages about the standard, *from memory*, *computed* here or beforehand. Terms of
ILAC-G8:09/2019: where it has a conditional pass or a conditional fail, and ISO 14253-1 its undecided zone, our guarded rule
is inconclusive. U is the 95 % half-width, u half of it.
"""

from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from jobs.bench.methods.typed_reading import expanded_uncertainty
from jobs.bench.methods.verdicts import COVERAGE_FACTOR, Instrument, Limit, Rule, decide

D = Decimal


def verdict(y: str, half: str, low: str | None, high: str | None, rule: Rule = Rule.GUARDED) -> str:
    limit = Limit(
        "size", "mm", None if low is None else D(low), None if high is None else D(high), decision=rule
    )
    return str(decide(D(y), D(y) - D(half), D(y) + D(half), limit).verdict)


# Permissible error 0.003 mm either way, U 0.0010 (a metrology page, read second hand; from 0.0035 on our continuation). The
# edges belong to the safe side of their zone: at 0.002 the interval ends on the limit, at 0.004 it begins on it.
LADDER = [
    ("0.0017", "within", "within"),
    ("0.0020", "within", "within"),
    ("0.0025", "inconclusive", "within"),
    ("0.0030", "inconclusive", "within"),
    ("0.0035", "inconclusive", "outside"),
    ("0.0040", "inconclusive", "outside"),
    ("0.0041", "outside", "outside"),
]


@pytest.mark.parametrize("sign", ["", "-"])
@pytest.mark.parametrize(("error", "guarded", "simple"), LADDER)
def test_it_works(sign: str, error: str, guarded: str, simple: str) -> None:
    assert verdict(sign + error, "0.0010", "-0.003", "0.003") == guarded
    assert verdict(sign + error, "0.0010", "-0.003", "0.003", Rule.SIMPLE) == simple


def test_it_calls_undecided_what_is_neither_shown_good_nor_bad() -> None:
    """10.00 +- 0.05, measured 10.03, U 0.04 (read second hand; ISO 14253-1 leaves it undecided)."""
    assert verdict("10.03", "0.04", "9.95", "10.05") == "inconclusive"
    assert verdict("10.03", "0.04", "9.95", "10.05", Rule.SIMPLE) == "within"
    assert verdict("10.10", "0.04", "9.95", "10.05") == "outside"


# Value, u, low, high, chance to conform (JCGM 106:2012, clause 7, from memory; computed), guarded verdict.
CHANCES = [
    ("-5.47", "0.05", None, "-5.40", 0.919, "inconclusive"),
    ("13.6", "1.8", "12.5", "16.3", 0.6626, "inconclusive"),
    # A ladder of our own, computed: the risk is 0.02275 at the guarded edge, 0.04947 and one half beyond, then 0.84134.
    ("9.8", "0.1", None, "10", 1 - 0.02275, "within"),
    ("9.835", "0.1", None, "10", 1 - 0.04947, "inconclusive"),
    ("10.0", "0.1", None, "10", 0.5, "inconclusive"),
    ("10.1", "0.1", None, "10", 1 - 0.84134, "inconclusive"),
    ("10.21", "0.1", None, "10", 0.01786, "outside"),
]


@pytest.mark.parametrize(("y", "u", "low", "high", "chance", "guarded"), CHANCES)
def test_it_passes_only_what_conforms_with_97_and_a_half_per_cent(
    y: str, u: str, low: str | None, high: str | None, chance: float, guarded: str
) -> None:
    normal = stats.norm(float(y), float(u))
    found = float(normal.cdf(float(high or "inf")) - normal.cdf(float(low or "-inf")))
    assert found == pytest.approx(chance, abs=1e-3 if chance == 0.919 else 5e-5)
    half = str(COVERAGE_FACTOR * D(u))
    assert verdict(y, half, low, high) == guarded
    assert (found >= 1 - stats.norm.sf(COVERAGE_FACTOR) - 1e-9) == (guarded == "within")


def test_it_accepts_wrongly_less_than_once_in_40_times() -> None:
    """1 - Phi(2) = 0.022750, computed; simple acceptance at the limit errs one time in two."""
    assert stats.norm.sf(COVERAGE_FACTOR) == pytest.approx(0.022750, abs=5e-7)


def test_it_rejects_no_more_boldly_than_the_speed_limit_of_the_guide() -> None:
    """Limit 100, u 2 % of the reading, 99.9 %: rejected from 106.59, so 107 (JCGM 106:2012, from memory; computed)."""
    bound = 100 / (1 - stats.norm.ppf(0.999) * 0.02)
    assert bound == pytest.approx(106.59, abs=0.005)
    # Ours rejects at 97.7 %, from 104.17 on.
    for y, found in (
        ("103", "inconclusive"),
        ("104.1", "inconclusive"),
        ("104.2", "outside"),
        ("107", "outside"),
    ):
        assert verdict(y, str(D(y) * D("0.04")), None, "100") == found


# A drop test read once a minute, gauge +-0.25 (all computed): slope -0.3981818, U 0.0510257 from scatter and gauge together.
READ = [800.0, 799.7, 799.2, 799.0, 798.4, 798.1, 797.8, 797.1, 797.0, 796.4]


@pytest.mark.parametrize(
    ("limit", "simple", "guarded"),
    [
        ("-0.42", "within", "inconclusive"),
        ("-0.45", "within", "within"),
        ("-0.39", "outside", "inconclusive"),
    ],
)
def test_it_judges_a_slope_with_both_kinds_of_uncertainty(limit: str, simple: str, guarded: str) -> None:
    line = stats.linregress(np.arange(10), READ)
    assert (line.slope, line.stderr) == (
        pytest.approx(-0.3981818, abs=5e-8),
        pytest.approx(0.01235383, abs=5e-9),
    )
    gauge = 0.25 / 3**0.5
    by_gauge = gauge * 2**0.5 / 9
    assert by_gauge == pytest.approx(0.02268046, abs=5e-9)
    u = float(np.hypot(line.stderr, by_gauge))
    assert u == pytest.approx(0.02582674, abs=5e-9)
    freedom = u**4 / (line.stderr**4 / 8)
    assert freedom == pytest.approx(152.8, abs=0.05)
    half = stats.t.ppf(0.975, int(freedom)) * u
    assert half == pytest.approx(0.0510257, abs=5e-8)
    assert verdict(f"{line.slope:.9f}", f"{half:.9f}", limit, None) == guarded
    assert verdict(f"{line.slope:.9f}", f"{half:.9f}", limit, None, Rule.SIMPLE) == simple


def test_it_spreads_a_digital_step_evenly() -> None:
    """step/sqrt(12), JCGM 100:2008 (GUM) 4.3.7, the clause from memory: k = 2 of a step of 1 is 0.57735, rounded up."""
    assert expanded_uncertainty(Instrument(resolution=D(1))) == D("0.58")
    assert stats.uniform(-0.5, 1).std() * COVERAGE_FACTOR == pytest.approx(0.57735, abs=5e-6)
