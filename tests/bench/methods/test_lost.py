"""Missing samples and clipped sensors: what is judged then, and what no *within* may rest on."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.intermediate_pressure import Result, judge
from jobs.bench.methods.lost import Stretch, clipped_at, gap_length_s, longest_stretch, standing_at
from jobs.bench.methods.slopes import noise
from jobs.bench.methods.traces import Trace, from_samples
from jobs.bench.methods.verdicts import Instrument, Rule
from tests.bench.methods.purges import LIMITS, changed, purge

LOCK_UP, TIME, CREEP = LIMITS


def without(trace: Trace, first_s: float, last_s: float) -> Trace:
    kept = (trace.times_s <= first_s) | (trace.times_s >= last_s)
    return from_samples(trace.times_s[kept], trace.pressures_bar[kept])


def bounded(trace: Trace, low_bar: float, high_bar: float) -> Trace:
    return from_samples(trace.times_s, np.clip(trace.pressures_bar, low_bar, high_bar))


def verdicts(result: Result) -> dict[str, str]:
    return {quantity: str(decision.verdict) for quantity, decision in result.decisions.items()}


def test_it_works() -> None:
    result = judge(without(purge(), 60.0, 76.0), LIMITS)
    assert result.warnings == (
        "Samples are missing: there is a gap of 16.00 s. Creep was judged where none is missing, from 86.00 to 180.00 s.",
    )
    assert result.verdict == "within"


def test_it_calls_five_usual_intervals_a_gap_but_nothing_shorter_than_two_seconds() -> None:
    assert gap_length_s(np.arange(0, 50, 0.1)) == 2.0
    assert gap_length_s(np.arange(0, 50, 0.5)) == 2.5


def test_it_takes_the_most_samples_that_follow_each_other() -> None:
    times_s = np.concatenate([np.arange(20.0), np.arange(30.0, 80.0), np.arange(90.0, 110.0)])
    assert longest_stretch(times_s, 5.0, 10.0, 5.0) == Stretch(30, 70)
    assert longest_stretch(times_s, 35.0, 10.0, 5.0) == Stretch(25, 70)
    assert longest_stretch(times_s, 79.0, 10.0, 5.0) == Stretch(80, 90)
    assert longest_stretch(times_s, 200.0, 10.0, 5.0) == Stretch(90, 90)


@pytest.mark.parametrize("seed", range(5))
def test_it_is_not_fooled_by_a_purge_in_a_gap(seed: int) -> None:
    # 0.1 bar/min for a minute, let off unseen, and again: over the gap it looks as if it stood still.
    trace = changed(purge(seed=seed, creep_bar_min=0.1, seconds=160.0), 88.0, 160.0, -0.12)
    assert judge(without(trace, 75.0, 88.0), [replace(CREEP, high=Decimal("0.07"))]).verdict != "within"


def test_it_knows_only_the_longest_time_across_a_gap() -> None:
    limit = replace(TIME, high=Decimal(10))
    trace = without(purge(), 4.0, 20.0)
    for rule in Rule:
        assert verdicts(judge(trace, [replace(limit, decision=rule)])) == {"time to lock up": "inconclusive"}
    assert verdicts(judge(trace, [replace(limit, high=Decimal(20))])) == {"time to lock up": "within"}
    assert judge(trace, LIMITS).warnings == (
        "Samples are missing: there is a gap of 16.00 s. Creep was judged where none is missing, from 52.00 to 180.00 s.",
        "The gap lies across the purge or the recovery: only the longest time to lock up is known.",
    )


@pytest.mark.parametrize("high_bar", [9.45, 9.5, 9.51, 9.55])
@pytest.mark.parametrize("step_bar", [0.0001, 0.001])
def test_it_passes_nothing_that_a_clipped_sensor_shows(high_bar: float, step_bar: float) -> None:
    for seed in range(10):
        result = judge(bounded(purge(seed=seed, creep_bar_min=0.1, step_bar=step_bar), -1, high_bar), LIMITS)
        assert result.figures.clipped_bar == Decimal(str(high_bar))
        assert "within" not in verdicts(result).values()


def test_it_says_that_a_sensor_was_clipped() -> None:
    result = judge(bounded(purge(), -1, 9.48), LIMITS)
    assert result.warnings[-1] == (
        "The sensor stood at 9.480 bar, the end of what it showed: it was clipped there or stuck."
    )
    assert result.decisions["creep"].sentence == (
        "The sensor stood still at 9.480 bar: clipped or stuck, it shows no more. Use one whose range goes further."
    )


def test_it_sees_a_falling_pressure_or_a_purge_stop_at_the_lower_end() -> None:
    falling = changed(purge(creep_bar_min=-0.1), 0.0, 5.0, 4.0)
    assert judge(bounded(falling, 9.3, 20), [CREEP]).verdict != "within"
    result = judge(bounded(purge(), 6.0, 20), LIMITS)
    assert result.figures.clipped_bar == Decimal("6.000")
    assert result.verdict == "inconclusive"


def test_it_lets_a_purge_to_the_open_air_read_nothing() -> None:
    trace = purge()
    open_bar = np.where(trace.times_s <= 5.0, 0.0, trace.pressures_bar)
    assert judge(from_samples(trace.times_s, open_bar), LIMITS).verdict == "within"


def test_it_still_says_outside_when_the_sensor_is_clipped() -> None:
    trace = bounded(purge(), -1, 9.48)
    assert judge(trace, [replace(LOCK_UP, high=Decimal("9.2"))]).verdict == "outside"


@pytest.mark.parametrize("step_bar", [0.0001, 0.001, 0.01, 0.02])
@pytest.mark.parametrize("rho", [0.0, 0.6])
def test_it_calls_no_sound_sensor_clipped(step_bar: float, rho: float) -> None:
    # Without a known end of the range a coarse sensor is given less trust.
    instrument = Instrument(range_high=Decimal(16)) if step_bar == 0.02 else None
    for seed in range(40):
        figures = judge(purge(seed=seed, rho=rho, step_bar=step_bar), instrument=instrument).figures
        assert figures.clipped_bar is None


def test_it_lets_a_quiet_gauge_stand_still() -> None:
    times_s = np.arange(0.0, 180.0, 0.5)
    after_s = np.maximum(times_s - 5.0, 0.0)
    shown_bar = np.round(9.52 - 4.5 * np.exp(-after_s / 2.0), 2)
    instrument = Instrument(Decimal("0.01"), Decimal(16))
    result = judge(from_samples(times_s, shown_bar), LIMITS, instrument)
    assert (result.figures.clipped_bar, result.verdict) == (None, "within")


def test_it_needs_readings_that_move_to_tell() -> None:
    assert clipped_at(np.full(60, 9.5), 5, 10, 0.0) is None


@pytest.mark.parametrize(("leak", "warm_bar", "tau_s"), [(-0.1, 0.3, 120.0), (-0.1, 0.2, 60.0)])
def test_it_passes_no_leak_that_warming_hides(leak: float, warm_bar: float, tau_s: float) -> None:
    for seed in range(10):
        trace = purge(seed=seed, creep_bar_min=leak)
        warming_bar = warm_bar * (1.0 - np.exp(-np.maximum(trace.times_s - 5.0, 0.0) / tau_s))
        result = judge(from_samples(trace.times_s, trace.pressures_bar + warming_bar), [CREEP])
        assert result.verdict != "within"


def test_it_calls_a_leak_that_grows_outside() -> None:
    trace = purge(creep_bar_min=0.02)
    growing_bar = 0.015 * (np.maximum(trace.times_s - 20.0, 0.0) / 60.0) ** 2
    result = judge(from_samples(trace.times_s, trace.pressures_bar + growing_bar), [CREEP])
    assert result.verdict == "outside"
    assert result.warnings[-1] == (
        "The creep is not steady: it differs between the first and the second half of its window."
    )


@pytest.mark.parametrize("high_bar", [9.45, 9.5, 9.55])
def test_it_passes_no_clipped_sensor_with_coarse_steps_while_its_end_is_not_known(high_bar: float) -> None:
    for seed in range(20):
        trace = bounded(purge(seed=seed, creep_bar_min=0.1, step_bar=0.01), -1, high_bar)
        assert "within" not in verdicts(judge(trace, LIMITS)).values()


def test_it_asks_for_the_full_scale_of_a_sensor_that_stands_still() -> None:
    trace = purge(creep_bar_min=0.0, noise_bar=0.002, step_bar=0.02)
    result = judge(trace, LIMITS)
    assert set(verdicts(result).values()) == {"inconclusive"}
    assert result.decisions["lock-up"].sentence == (
        "The readings stand at their highest or lowest, as a clipped sensor's would: state the instrument's full scale. "
        "Limit 9.0 to 10.0 bar."
    )
    known = judge(trace, [LOCK_UP, TIME], Instrument(range_high=Decimal(16)))
    assert (known.figures.may_be_clipped, known.verdict) == (False, "within")


def test_it_takes_six_in_a_row_or_a_quarter_for_standing() -> None:
    scatter = np.tile([1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0], 10)
    assert standing_at(np.concatenate([scatter, np.full(5, 8.0), scatter])) is None
    assert standing_at(np.concatenate([scatter, np.full(6, 8.0), scatter])) == 8.0
    assert standing_at(np.concatenate([scatter, np.full(6, 0.5), scatter])) == 0.5
    assert standing_at(np.concatenate([scatter, np.full(6, 4.5), scatter])) is None
    assert standing_at(np.tile([2.0, 3.0, 4.0, 8.0], 10)) == 8.0
    assert standing_at(np.tile([1.0, 2.0, 3.0, 4.0, 8.0], 10)) is None


# Each of five readings in turn is no more than a fifth of them: nothing stands at an end.
AFTER = np.tile([9.3, 9.5, 9.4, 9.7, 9.6], 10)


def purged(*lowest: float, then: float = 9.0) -> np.ndarray:
    """A purge that moves about 6 bar and ends with so many readings, one sample of its recovery, and what came after."""
    return np.concatenate([np.tile([6.2, 6.0, 6.4], 5), lowest, [then], AFTER])


@pytest.mark.parametrize(
    ("lowest", "then", "found"),
    [
        ([5.0] * 6, 9.0, 5.0),
        ([5.0] * 5, 9.0, None),
        # What came after the release is no reading of the purge.
        ([5.0] * 5, 5.0, None),
        ([5.0] * 6, 4.9, 5.0),
        # Open to the air.
        ([0.05] * 6, 9.0, None),
        ([0.06] * 6, 9.0, 0.06),
    ],
)
def test_a_purge_that_stands_at_the_lower_end(lowest: list[float], then: float, found: float | None) -> None:
    released = 14 + len(lowest)
    assert clipped_at(purged(*lowest, then=then), released, released + 2, 0.01) == found


def test_a_purge_is_called_stuck_where_the_rest_scatters_by_three_times_as_much() -> None:
    moving = np.concatenate([np.tile([6.2, 6.0, 6.4], 5), AFTER[~np.isin(AFTER, [9.3, 9.7])]])
    assert clipped_at(purged(*[5.0] * 6), 20, 22, noise(moving) / 3.1) == 5.0
    assert clipped_at(purged(*[5.0] * 6), 20, 22, noise(moving) / 2.9) is None


def test_what_stands_after_the_lock_up_is_stuck_only_where_the_rest_moves() -> None:
    standing = np.concatenate([np.tile([6.2, 6.0, 6.4], 5), [9.0], np.full(6, 9.8), AFTER])
    # Neither end is in it: 9.8 and 9.3 after the lock-up, 6.0 before.
    moving = np.concatenate([np.tile([6.2, 6.4], 5), AFTER[AFTER != 9.3]])
    assert clipped_at(standing, 14, 16, noise(moving) * 0.99) == 9.8
    assert clipped_at(standing, 14, 16, noise(moving) * 1.01) is None


@pytest.mark.parametrize(("moving", "found"), [(8, 9.8), (7, None)])
def test_eight_readings_that_move_are_asked_for(moving: int, found: float | None) -> None:
    readings = np.concatenate(
        [[5.0], np.linspace(9.4, 9.6, moving) + np.resize([0.0, 0.1], moving), [9.3], np.full(6, 9.8)]
    )
    assert clipped_at(readings, 0, 1, 0.0) == found


def test_an_interval_just_as_long_as_a_gap_is_one() -> None:
    times_s = np.concatenate([np.arange(20.0), np.arange(24.0, 80.0)])
    assert longest_stretch(times_s, 0.0, 10.0, 5.0) == Stretch(30, 76)
    assert longest_stretch(times_s, 0.0, 10.0, 5.1) == Stretch(0, 76)
