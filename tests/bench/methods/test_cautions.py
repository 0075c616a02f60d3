"""Traces and instruments that cannot be trusted: what is flagged, and what is never passed."""

import re
from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.intermediate_pressure import Result, judge
from jobs.bench.methods.traces import from_samples
from jobs.bench.methods.verdicts import Instrument, Limit
from tests.bench.methods.purges import LIMITS, changed, purge

LOCK_UP, TIME, CREEP = LIMITS


def said(result: Result, quantity: str) -> str:
    return result.decisions[quantity].sentence


def test_it_works() -> None:
    assert judge(purge(), LIMITS).warnings == ()


def test_it_counts_no_purges_where_there_is_none() -> None:
    flat = purge(creep_bar_min=0.0).pressures_bar[-200:]
    assert not any("dropped" in each for each in judge(from_samples(np.arange(200.0), flat)).warnings)


def test_it_judges_the_last_of_several_purges() -> None:
    result = judge(changed(changed(purge(), 60.0, 63.0, -3.0), 90.0, 92.0, -3.0), LIMITS)
    assert result.figures.released_s == Decimal("92.00")
    assert result.warnings[0] == "The pressure dropped 2 times; only the last recovery was judged."


def test_it_takes_the_opening_of_the_supply_for_no_purge() -> None:
    result = judge(changed(purge(), 60.0, 63.0, -3.0), LIMITS)
    assert result.figures.released_s == Decimal("63.00")
    assert result.figures.drops == 1
    assert result.warnings == ()


def test_it_says_when_the_pressure_left_its_band_again() -> None:
    result = judge(changed(purge(), 100.0, 103.0, 0.2), LIMITS)
    assert result.decisions["time to lock up"].verdict == "outside"
    assert result.warnings == (
        "The pressure had settled and left its band again, last 98.00 s after the purge. "
        "If nobody touched the set-up, that is a finding.",
    )


def test_it_flags_hunting_with_frequency_and_amplitude() -> None:
    trace = purge()
    swing_bar = 0.05 * np.sin(2 * np.pi * 0.3 * trace.times_s) * (trace.times_s > 5.0)
    result = judge(from_samples(trace.times_s, trace.pressures_bar + swing_bar), LIMITS)
    (warning,) = result.warnings
    assert re.fullmatch(
        r"The pressure hunts: it swings by 0.0(49|50|51) bar to either side, 0.300 times a second.", warning
    )
    assert result.verdict == "within"


def test_it_sees_fast_hunting_in_a_long_record_at_a_high_rate() -> None:
    trace = purge(seconds=120, rate_hz=50)
    swing_bar = 0.04 * np.sin(2 * np.pi * 6.0 * trace.times_s) * (trace.times_s > 5.0)
    hunting = judge(from_samples(trace.times_s, trace.pressures_bar + swing_bar)).figures.hunting
    assert hunting is not None
    assert abs(hunting.frequency_hz - Decimal(6)) < Decimal("0.01")
    assert abs(hunting.amplitude_bar - Decimal("0.04")) < Decimal("0.002")


def test_it_warns_of_gas_that_warms_after_the_purge() -> None:
    trace = purge(creep_bar_min=0.0)
    warming_bar = 0.04 * (1.0 - np.exp(-np.maximum(trace.times_s - 5.0, 0.0) / 60.0))
    result = judge(from_samples(trace.times_s, trace.pressures_bar + warming_bar), LIMITS)
    assert result.warnings == (
        "The rise slows down: gas warming after a purge can look like creep. Wait, then measure again.",
    )


@pytest.mark.parametrize("step_bar", [0.02, 0.05])
def test_it_never_passes_what_a_coarse_sensor_cannot_show(step_bar: float) -> None:
    # True creep 0.02 bar/min; every reading may be the same number for minutes.
    limit = Limit("creep", "bar_min", high=Decimal("0.015"))
    for seed in range(10):
        assert judge(purge(seed=seed, noise_bar=0.002, step_bar=step_bar), [limit]).verdict != "within"


def test_it_warns_of_steps_coarser_than_the_noise() -> None:
    result = judge(purge(noise_bar=0.002, step_bar=0.05), LIMITS)
    assert result.warnings == (
        "The sensor's steps of 0.05000 bar are coarser than the noise: a slow creep can hide between two of them.",
    )


def test_it_says_when_the_instrument_is_too_coarse() -> None:
    limit = Limit("creep", "bar_min", high=Decimal("0.005"))
    assert said(judge(purge(noise_bar=0.002, step_bar=0.05), [limit]), "creep").endswith(
        "Even 10 min more would hardly decide it: the instrument is too coarse."
    )
    close = Limit("lock-up", "bar", Decimal("9.0"), Decimal("9.51"))
    assert said(judge(purge(step_bar=0.05), [close]), "lock-up").endswith(
        "More time does not help: the instrument is too coarse to tell."
    )


def test_it_takes_the_instruments_own_step_and_calibration_into_account() -> None:
    plain, known = (
        judge(purge()),
        judge(purge(), instrument=Instrument(Decimal("0.01"), None, Decimal("0.05"))),
    )
    assert plain.figures.lock_up_bar is not None
    assert known.figures.lock_up_bar is not None
    assert plain.figures.lock_up_bar.value == known.figures.lock_up_bar.value
    assert plain.figures.lock_up_bar.high - plain.figures.lock_up_bar.value < Decimal("0.03")
    assert known.figures.lock_up_bar.high - known.figures.lock_up_bar.value > Decimal("0.1")
    assert known.figures.sensor_step_bar == Decimal("0.01")


def test_it_believes_the_stated_step_when_few_readings_differ() -> None:
    times_s = np.arange(0.0, 180.0, 0.5)
    two_levels = from_samples(times_s, np.where(times_s <= 5.0, 5.0, 9.5))
    assert judge(two_levels, [CREEP]).verdict == "inconclusive"
    assert judge(two_levels, [CREEP], Instrument(Decimal("0.01"), Decimal(16))).verdict == "within"


def test_it_trusts_no_figure_at_the_end_of_the_range() -> None:
    result = judge(purge(), LIMITS, Instrument(range_high=Decimal("9.5")))
    assert result.verdict == "inconclusive"
    assert (
        said(result, "lock-up")
        == "The pressure reached the end of the instrument's range: use one that reads higher."
    )
    assert (
        judge(purge(creep_bar_min=0.08), LIMITS, Instrument(range_high=Decimal("9.5"))).verdict == "outside"
    )


def test_it_warns_of_a_gap_in_the_record() -> None:
    trace = purge()
    kept = (trace.times_s < 60.0) | (trace.times_s > 75.0)
    result = judge(from_samples(trace.times_s[kept], trace.pressures_bar[kept]), LIMITS)
    assert result.warnings[0].startswith("Samples are missing: there is a gap of 16.00 s. ")
