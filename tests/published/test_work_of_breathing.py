"""Work of breathing against closed forms, SciPy and published figures.

Status of each figure: *read* in the text named, *read second hand* in pages about it, *computed* from the closed form or by
SciPy. Closed form for P = Ppk |sin|^n against a sinusoidal flow, by phase, in units of Ppk:
sqrt(pi)/2 * Gamma((n+2)/2) / Gamma((n+3)/2).
"""

from decimal import Decimal

import numpy as np
import pytest
from scipy import integrate, special, stats

from jobs.bench.methods.breathing_loop import Result, judge
from jobs.bench.methods.loops import Loop, from_volumes
from jobs.bench.methods.published_limits import PUBLISHED, READ, READ_SECOND_HAND
from jobs.bench.methods.repeats import mean_of
from jobs.bench.methods.traces import Floats
from jobs.bench.methods.verdicts import Instrument, Limit, Rule, Verdict
from jobs.bench.methods.work import Work, work_of
from tests.bench.methods.breathing import (
    POLYGON_L,
    POLYGON_MBAR,
    VENTURI_L,
    VENTURI_MBAR,
    angles,
    resisting,
    sinus,
    timed,
)

# n, factor by phase, both phases at 10 mbar in J/L, mbar that reach 3.0 J/L, mbar that reach 1.37 J/L. All computed.
ANALYTIC = [
    (0, 1.0, 2.0, 15.0, 6.85),
    (0.5, 0.874019, 1.748038, 17.162, 7.837),
    (1, 0.785398, 1.570796, 19.0986, 8.7217),
    (1.5, 0.718884, 1.437768, 20.866, 9.529),
    (1.75, 0.691319, 1.382639, 21.698, 9.909),
    (2, 0.666667, 1.333333, 22.5, 10.275),
]
GOAL = 2e-4
WORK_3 = Limit("work of breathing", "J_l", high=Decimal("3.0"), decision=Rule.SIMPLE)


def factor(power: float) -> float:
    return float(np.sqrt(np.pi) / 2 * special.gamma((power + 2) / 2) / special.gamma((power + 3) / 2))


def opposed(power: float, inhale_mbar: float = 10.0, exhale_mbar: float = 10.0, points: int = 200) -> Loop:
    """A sinusoid against a resistance; for n = 0 both corners stand in the record, as the pressure jumps there."""
    angle = angles(points)
    if power:
        return sinus(angle, resisting(angle, power, inhale_mbar, exhale_mbar))
    half = points // 2
    corners = np.concatenate([angle[:1], angle[: half + 1], angle[half:]])
    pressures = [exhale_mbar, *[-inhale_mbar] * (half + 1), *[exhale_mbar] * (half + 1)]
    return sinus(corners, pressures)


def work(loop: Loop) -> Work:
    (breath,) = loop.breaths
    return work_of(breath)


def test_it_works() -> None:
    # Vector 2: linear, 10 mbar each way; computed.
    found = work(opposed(1, points=2000))
    assert (found.total, found.inhaling, found.exhaling) == pytest.approx(
        (1.570796, 0.785398, 0.785398), rel=2e-6
    )


@pytest.mark.parametrize(("power", "by_phase", "both", "reaching_3", "reaching_goal"), ANALYTIC)
def test_it_agrees_with_the_analytic_table(
    power: float, by_phase: float, both: float, reaching_3: float, reaching_goal: float
) -> None:
    assert factor(power) == pytest.approx(by_phase, abs=5e-7)
    for peak_mbar, expected in ((10, both), (reaching_3, 3.0), (reaching_goal, 1.37)):
        found = work(opposed(power, peak_mbar, peak_mbar))
        rounding = 5e-5 if peak_mbar != 10 else 5e-7
        assert found.total == pytest.approx(expected, rel=GOAL + rounding)
    found = work(opposed(power))
    assert found.inhaling == pytest.approx(by_phase, rel=GOAL)
    assert found.exhaling == pytest.approx(by_phase, rel=GOAL)


@pytest.mark.parametrize("power", [0.5, 1, 1.5, 1.75, 2])
@pytest.mark.parametrize("phase", [0.0, 0.25, 0.5, 0.8])
def test_its_method_errs_by_less_than_a_fiftieth_of_a_percent_at_200_points(
    power: float, phase: float
) -> None:
    angle = angles(200, 3, phase)
    for loop in (sinus(angle, resisting(angle, power)), timed(angle, resisting(angle, power))):
        for breath in loop.breaths:
            assert work_of(breath).total == pytest.approx(2 * factor(power), rel=GOAL)


@pytest.mark.parametrize("phase", [0.0, 0.25, 0.5, 0.8])
def test_a_jump_between_two_samples_costs_a_quarter_of_the_step_squared(phase: float) -> None:
    # n = 0 without its corners: the straight line across the jump cuts up to x^2/4 off, x = 2 pi/200.
    angle = angles(200, 3, phase)
    for breath in sinus(angle, resisting(angle, 0)).breaths:
        error = work_of(breath).total / 2 - 1
        assert -((2 * np.pi / 200) ** 2) / 4 - 1e-6 <= error <= 1e-9


@pytest.mark.parametrize(("points", "error"), [(50, -2.6e-3), (100, -6.6e-4), (200, -1.6e-4), (500, -2.6e-5)])
def test_it_errs_by_as_much_as_computed(points: int, error: float) -> None:
    assert work(opposed(1, points=points)).total / (np.pi / 2) - 1 == pytest.approx(error, rel=0.03)


def test_it_agrees_with_scipy_on_any_law() -> None:
    def pressure(angle: float) -> float:
        flow = np.sin(angle)
        mbar = 3 * np.sign(flow) + 6 * flow + 6 * flow * abs(flow) - 4 * np.exp(-((angle - 2) ** 2) / 0.02)
        return float(-mbar)

    def exact(start: float, end: float, side: float) -> float:
        def share(angle: float) -> float:
            return max(side * pressure(angle), 0.0) * float(np.sin(angle)) / 20

        return float(integrate.quad(share, start, end, points=[1.7, 2, 2.3], limit=400)[0])

    angle = np.concatenate(
        [np.linspace(1e-9, np.pi - 1e-9, 2001), np.linspace(np.pi + 1e-9, 2 * np.pi - 1e-9, 2001)]
    )
    found = work(sinus(angle, [pressure(each) for each in angle]))
    assert found.external == pytest.approx(exact(0, np.pi, -1), rel=2e-5)
    assert found.positive == pytest.approx(exact(0, np.pi, 1), rel=2e-5, abs=1e-9)
    assert found.inhaling == pytest.approx(exact(0, np.pi, -1) - exact(0, np.pi, 1), rel=2e-5)


@pytest.mark.parametrize(("volumes", "pressures"), [(POLYGON_L, POLYGON_MBAR), (VENTURI_L, VENTURI_MBAR)])
def test_it_agrees_with_scipy_s_trapezoids(volumes: list[float], pressures: list[float]) -> None:
    expected = -integrate.trapezoid(pressures, volumes) / 25
    assert work(from_volumes(volumes, pressures)).total == pytest.approx(expected, abs=1e-12)


def test_it_agrees_on_a_combined_resistance() -> None:
    # Cracking 3, linear 6 and quadratic 6 mbar: 1.171239 by phase, 2.342478 together; computed.
    angle = np.concatenate(
        [np.linspace(1e-9, np.pi - 1e-9, 200), np.linspace(np.pi + 1e-9, 2 * np.pi - 1e-9, 200)]
    )
    flow = np.sin(angle)
    found = work(sinus(angle, -(3 * np.sign(flow) + 6 * flow + 6 * flow * np.abs(flow))))
    assert found.total == pytest.approx(2.342478, rel=GOAL)
    assert found.inhaling == pytest.approx(1.171239, rel=GOAL)


def test_it_agrees_on_unequal_halves() -> None:
    # Linear, 12 mbar in and 8 mbar out; computed.
    found = work(opposed(1, 12, 8))
    assert (found.inhaling, found.exhaling) == pytest.approx((0.942478, 0.628319), rel=GOAL)
    assert found.total == pytest.approx(1.570796, rel=GOAL)


def test_vector_1_gives_the_minute_volume() -> None:
    # 25 breaths of 2.5 L: 62.5 L/min (EN 250:2014, 6.7.1, read); peak flow 196.3495 L/min (computed).
    angle = angles(400, 3)
    result = judge(timed(angle, resisting(angle), tidal_l=2.5, rate_min=25))
    assert result.figures.values["minute volume"].value == Decimal("62.50")
    assert result.figures.breaths_min == Decimal("25.00")
    assert np.pi * 62.5 == pytest.approx(196.3495, abs=5e-5)


# Vectors 3, 4, 6: n, peak, J/L, against 3.0 J/L. Computed; the limit read second hand.
AGAINST_3 = [
    (1, 25, 3.926991, Verdict.OUTSIDE),
    (1, 15, 2.356194, Verdict.WITHIN),
    (2, 25, 3.333333, Verdict.OUTSIDE),
    (0, 15, 3.0, Verdict.WITHIN),  # Vector 7: at the limit, "not exceed".
    (0, 15.001, 3.0002, Verdict.OUTSIDE),
]


@pytest.mark.parametrize(("power", "peak", "expected", "verdict"), AGAINST_3)
def test_vectors_3_to_7_stand_against_three_joules(
    power: float, peak: float, expected: float, verdict: Verdict
) -> None:
    loop = opposed(power, peak, peak, points=400)
    assert work(loop).total == pytest.approx(expected, rel=GOAL)
    assert judge(loop, [WORK_3]).verdict is verdict


def test_vector_8_is_a_static_offset() -> None:
    # 10 mbar in both phases: -1 and +1 J/L, nothing together; computed.
    angle = angles(200)
    found = work(sinus(angle, np.full(201, 10.0)))
    assert (found.inhaling, found.exhaling, found.total) == pytest.approx((-1, 1, 0), abs=1e-12)
    assert found.positive == pytest.approx(1, abs=1e-12)


def test_a_pure_elastance_does_no_work() -> None:
    # Computed.
    angle = angles(200)
    assert work(sinus(angle, -8 * (1 - np.cos(angle)))).total == pytest.approx(0, abs=1e-12)


def test_vector_10_is_a_polygon() -> None:
    # 38.5 mbar L over 2.5 L: 1.54 = 0.74 + 0.80 J/L; computed.
    found = work(from_volumes(POLYGON_L, POLYGON_MBAR))
    assert (found.total, found.inhaling, found.exhaling) == pytest.approx((1.54, 0.74, 0.80), abs=1e-12)


def test_vector_11_is_a_venturi_lobe() -> None:
    # External 0.12, positive 0.20, net -0.08 J/L; computed. The way back is against nothing.
    found = work(from_volumes(VENTURI_L, VENTURI_MBAR))
    assert (found.external, found.positive, found.inhaling) == pytest.approx((0.12, 0.20, -0.08), abs=1e-12)


# Vector 13: five runs against the Navy's goal of 1.37 J/L (abstract of DTIC ADA272974, read); t and p computed by SciPy.
RUNS = [
    ([1.21, 1.30, 1.26, 1.33, 1.24], 1.2680, -4.78710, 0.004365),
    ([1.29, 1.40, 1.33, 1.38, 1.31], 1.3420, -1.34404, 0.12505),
]


@pytest.mark.parametrize(("runs", "mean", "t", "p"), RUNS)
def test_vector_13_has_the_scatter_of_a_t_test(runs: list[float], mean: float, t: float, p: float) -> None:
    found = stats.ttest_1samp(runs, 1.37, alternative="less")
    assert (found.statistic, found.pvalue) == (pytest.approx(t, abs=5e-6), pytest.approx(p, rel=1e-3))
    values: Floats = np.array(runs)
    ours, half = mean_of(values)
    assert ours == pytest.approx(mean, abs=5e-5)
    assert half is not None
    interval = stats.ttest_1samp(runs, 1.37).confidence_interval(0.95)
    assert interval.low - 1e-4 < ours - half <= interval.low
    assert interval.high <= ours + half < interval.high + 1e-4
    # The standard error is theirs too: t = (mean - goal) / error.
    assert (ours - 1.37) / (half / stats.t.ppf(0.975, 4)) == pytest.approx(t, rel=2e-3 / 2.776 + 1e-4)


@pytest.mark.parametrize(("lowest", "verdict"), [(-7.47, Verdict.WITHIN), (-7.48, Verdict.OUTSIDE)])
def test_vector_14_stands_against_three_inches_of_water(lowest: float, verdict: Verdict) -> None:
    # At 15 breaths a minute: limit 7.4726673 mbar. California Code of Regulations, Title 8, section 6057(b)(1), read.
    (published,) = [each for each in PUBLISHED if each.limit.unit == "inH2O" and each.limit.low is not None]
    assert published.limit.to("mbar").low == Decimal("-7.4726673")
    angle = angles(200, 5)
    loop = timed(angle, resisting(angle, 1, -lowest, 7.0), rate_min=15)
    result: Result = judge(loop, [published.limit], Instrument(standard_uncertainty=Decimal("0.001")))
    assert result.verdict is verdict
    assert result.figures.breaths_min == Decimal("15.00")


# Quantity, side, unit, source, status; what was not found in print has no row.
ROWS = [
    ("work of breathing", None, "3.0", "J_l", "EN 250", READ_SECOND_HAND),
    ("positive work during inhalation", None, "0.3", "J_l", "EN 250", READ_SECOND_HAND),
    ("peak inhalation pressure", "-25", None, "mbar", "EN 250", READ_SECOND_HAND),
    ("peak exhalation pressure", None, "25", "mbar", "EN 250", READ_SECOND_HAND),
    ("positive pressure during inhalation", None, "5", "mbar", "EN 250", READ_SECOND_HAND),
    (
        "work of breathing",
        None,
        "1.37",
        "J_l",
        "US Navy Experimental Diving Unit report, DTIC ADA272974",
        READ,
    ),
    (
        "peak inhalation pressure",
        "-3",
        None,
        "inH2O",
        "California Code of Regulations, Title 8, section 6057(b)(1)",
        READ,
    ),
    (
        "peak exhalation pressure",
        None,
        "3",
        "inH2O",
        "California Code of Regulations, Title 8, section 6057(b)(1)",
        READ,
    ),
]


def test_it_holds_the_published_limits_as_read() -> None:
    found = [
        (
            each.limit.quantity,
            None if each.limit.low is None else str(each.limit.low),
            None if each.limit.high is None else str(each.limit.high),
            each.limit.unit,
            each.limit.source,
            each.status,
        )
        for each in PUBLISHED
    ]
    assert found == ROWS
