"""Gas that warms after a purge: what it may hide or feign is neither within nor outside. Rates over many seeds: `tests/bench/rates.py`."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.creep import fit_creep, further_s
from jobs.bench.methods.intermediate_pressure import Result, judge
from jobs.bench.methods.slopes import Line, theil_sen
from jobs.bench.methods.traces import from_samples
from jobs.bench.methods.verdicts import Rule
from jobs.bench.methods.warming import LONGEST_WARMING_S, Halves, halves_of
from tests.bench.methods.purges import LIMITS, purge, warmed

SEEDS = 15
CREEP = LIMITS[2]
MINUTES = np.arange(0.0, 161.0, 0.5) / 60.0


def judged(creep: float, limit: str, seed: int, warm_bar: float, tau_s: float, **conditions: float) -> Result:
    trace = warmed(purge(seed=seed, creep_bar_min=creep, **conditions), warm_bar, tau_s)
    return judge(trace, [replace(CREEP, high=Decimal(limit))])


def verdicts(
    creep: float, limit: str, warm_bar: float = 0.0, tau_s: float = 60.0, **conditions: float
) -> list[str]:
    return [str(judged(creep, limit, seed, warm_bar, tau_s, **conditions).verdict) for seed in range(SEEDS)]


def exponential(warm_bar: float, tau_s: float, creep: float = 0.0) -> Halves:
    """The halves of a window without noise, 160 s long."""
    return halves_of(MINUTES, creep * MINUTES - warm_bar * np.exp(-MINUTES * 60.0 / tau_s), 0.0)


def test_it_works() -> None:
    sentence = judged(-0.02, "0.01", 1, 0.05, 60.0).decisions["creep"].sentence
    assert sentence.startswith("The creep is -0.00")
    assert (
        "gas that still warms after the purge may hide a leak: what lasts may be as low as -0.0" in sentence
    )


@pytest.mark.parametrize("creep", [-0.05, 0.0, 0.03])
def test_it_finds_what_lasts_under_the_longest_warming(creep: float) -> None:
    found = exponential(0.05, LONGEST_WARMING_S, creep)
    # Exact but for the interval that Sen gives to the slopes of a bend.
    share = 1.0 / np.expm1(160.5 / 2.0 / LONGEST_WARMING_S)
    lasting = found.late.slope - share * (found.early.slope - found.late.slope)
    assert lasting == pytest.approx(creep, abs=2e-4)
    assert found.changed
    assert found.lasting_low() < lasting < found.late.slope


@pytest.mark.parametrize("tau_s", [20.0, 60.0, 120.0, 180.0])
def test_what_lasts_lies_above_its_bound_for_every_shorter_warming(tau_s: float) -> None:
    for creep in (-0.05, 0.0, 0.03):
        assert exponential(0.05, tau_s, creep).lasting_low() < creep


@pytest.mark.parametrize(
    ("warm_bar", "tau_s"), [(0.05, 20.0), (0.05, 60.0), (0.05, 180.0), (0.2, 60.0), (0.2, 180.0)]
)
@pytest.mark.parametrize("limit", ["0.01", "0.05"])
def test_it_passes_no_leak_of_twice_the_limit_that_warming_hides(
    warm_bar: float, tau_s: float, limit: str
) -> None:
    assert "within" not in verdicts(-2.0 * float(limit), limit, warm_bar, tau_s)


@pytest.mark.parametrize(("warm_bar", "tau_s"), [(0.05, 60.0), (0.2, 60.0), (0.2, 180.0)])
@pytest.mark.parametrize("limit", ["0.01", "0.05"])
def test_it_blames_no_seat_for_what_warming_alone_does(warm_bar: float, tau_s: float, limit: str) -> None:
    assert "outside" not in verdicts(0.0, limit, warm_bar, tau_s)


def test_it_says_what_warming_may_feign_and_how_long_to_measure() -> None:
    sentence = judged(0.0, "0.01", 1, 0.2, 60.0).decisions["creep"].sentence
    assert (
        "gas that still warms after the purge may be what lifts it out of its limit: what lasts" in sentence
    )
    assert sentence.endswith(("bar/min.", "for this instrument."))


def test_it_still_decides_what_warming_cannot_change() -> None:
    assert verdicts(0.0, "0.05") == ["within"] * SEEDS
    assert verdicts(0.1, "0.05") == ["outside"] * SEEDS
    # Warming only lifts, so what falls beyond its limit leaks.
    assert verdicts(-0.1, "0.05", 0.05, 60.0) == ["outside"] * SEEDS
    # And what may last of a large rise is beyond the limit by itself.
    assert verdicts(0.2, "0.05", 0.05, 60.0) == ["outside"] * SEEDS


def test_it_asks_for_longer_where_a_short_window_cannot_tell_a_small_leak() -> None:
    short = verdicts(0.0, "0.01")
    assert "outside" not in short
    assert short.count("inconclusive") > SEEDS // 4
    assert verdicts(0.0, "0.01", seconds=300.0).count("within") >= SEEDS - 1


def test_the_value_alone_decides_where_the_maker_means_that_unless_the_halves_differ() -> None:
    limit = replace(CREEP, high=Decimal("0.01"), decision=Rule.SIMPLE)
    assert judge(purge(creep_bar_min=0.0), [limit]).verdict == "within"
    assert (
        judge(warmed(purge(creep_bar_min=-0.02, noise_bar=0.003), 0.05, 60.0), [limit]).verdict
        == "inconclusive"
    )


@pytest.mark.parametrize(
    ("creep", "quickening", "verdict"),
    [
        (0.04, 0.06, "outside"),
        (-0.04, -0.06, "outside"),
        (0.005, 0.06, "inconclusive"),
        (0.03, 0.0, "within"),
    ],
)
def test_a_creep_that_quickens_is_outside_once_its_later_half_alone_is(
    creep: float, quickening: float, verdict: str
) -> None:
    # The creep at first, and by how much it grows over the record; in the third the mean is within, the later half not.
    trace = purge(creep_bar_min=creep, noise_bar=0.002)
    grown_bar = quickening * np.maximum(trace.times_s - 5.0, 0.0) ** 2 / (2.0 * 175.0) / 60.0
    assert judge(from_samples(trace.times_s, trace.pressures_bar + grown_bar), [CREEP]).verdict == verdict


def test_it_takes_the_steps_of_a_coarse_sensor_into_either_half() -> None:
    flat = np.full(len(MINUTES), 9.5)
    found = halves_of(MINUTES, flat, 0.03)
    assert (found.early.low, found.late.high) == (-0.03, 0.03)
    assert not found.changed
    # Through sqrt((1 + s)^2 + s^2) * 0.03 on one side of 95 %, s = 1/(exp(160/360) - 1); computed.
    assert found.lasting_low() == pytest.approx(-0.08321, abs=2e-4)
    assert found.hidden_after(1.0) == pytest.approx(0.08321, abs=2e-4)


def test_a_longer_window_hides_less() -> None:
    line = Line(0.0, -0.004, 0.004, 9.5)
    halves = Halves(line, line, 0.001, 160.0 / 60.0, changed=False)
    # s = 1/(exp(160/360) - 1) = 1.7875; 0.8393 * 3.3113 * (2 * 0.003 + 0.001); computed.
    assert halves.hidden_after(1.0) == pytest.approx(0.019454, abs=5e-6)
    # Twice as long: s = 1/(exp(320/360) - 1) = 0.69796; 0.8393 * 1.8358 * (2 * 0.003 / 2^1.5 + 0.001 / 2); computed.
    assert halves.hidden_after(2.0) == pytest.approx(0.0040388, abs=5e-6)


def test_it_lets_a_warming_that_shows_die_away_first() -> None:
    times_s = np.arange(0.0, 161.0, 0.5)
    still = 9.5 + np.random.default_rng(1).normal(0.0, 0.01, len(times_s))
    steady = further_s(fit_creep(times_s, still, 0.0), -0.01, 0.01)
    assert steady is not None
    assert steady < LONGEST_WARMING_S
    warming = still - 0.05 * np.exp(-times_s / 40.0)
    waiting = further_s(fit_creep(times_s, warming, 0.0), -0.05, 0.05)
    assert waiting == LONGEST_WARMING_S


def test_it_needs_no_time_for_warming_where_the_creep_is_below_its_limits() -> None:
    times_s = np.arange(0.0, 161.0, 0.5)
    falling = 9.5 - 0.1 * times_s / 60.0 + np.random.default_rng(1).normal(0.0, 0.01, len(times_s))
    fit = fit_creep(times_s, falling, 0.0)
    assert further_s(fit, -0.095, 0.095) == further_s(fit, -0.095, None)
    assert further_s(fit, -0.095, None) is not None
    assert further_s(fit, None, -0.105) != further_s(fit, -0.095, None)


def test_a_bend_is_no_correlated_noise() -> None:
    """A cubic leaves only the noise over, so that neither half's interval is widened; a parabola would leave much."""
    bend = 9.5 + (MINUTES - 1.0) ** 3 + np.resize([5e-4, -5e-4], len(MINUTES))
    found, half = halves_of(MINUTES, bend, 0.0), len(MINUTES) // 2
    early, late = theil_sen(MINUTES[:half], bend[:half]), theil_sen(MINUTES[half:], bend[half:])
    assert (found.early.low, found.early.high) == pytest.approx((early.low, early.high))
    assert (found.late.low, found.late.high) == pytest.approx((late.low, late.high))
    assert (found.duration_min, found.steps_bar_min) == (MINUTES[-1], 0.0)
