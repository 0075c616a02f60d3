"""What one logged purge shows, measured and rounded, before any limit is asked."""

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

import numpy as np

from jobs.bench.methods.creep import MIN_WINDOW_SAMPLES, Creep, fit_creep, guard_s
from jobs.bench.methods.hunting import Hunting, find_hunting
from jobs.bench.methods.lost import clipped_at, gap_length_s, longest_stretch, standing_at
from jobs.bench.methods.purge_drop import flowing_bar
from jobs.bench.methods.settling import MIN_STEADY_S, Settling, find_settling
from jobs.bench.methods.slopes import median, noise, widening
from jobs.bench.methods.traces import Trace
from jobs.bench.methods.verdicts import COVERAGE_FACTOR, Instrument

PLACES_BAR = 3
PLACES_FINE_BAR = 5
PLACES_BAR_MIN = 5
PLACES_S = 2
PLACES_INTERVAL_S = 6
PLACES_RATIO = 3
COARSE_NOISES = 2.0
MIN_DISTINCT = 8
# The median of normal noise scatters by sqrt(pi/2) more than its mean.
MEDIAN_PENALTY = 1.2533


@dataclass(frozen=True)
class Estimate:
    """A value and its 95 % interval, in the unit that the owning field's name says."""

    value: Decimal
    low: Decimal
    high: Decimal


@dataclass(frozen=True)
class Swing:
    """Hunting as reported: a regular swing about the fitted line."""

    frequency_hz: Decimal
    amplitude_bar: Decimal


@dataclass(frozen=True, kw_only=True)
class Figures:
    """The figures of one trace; None where the trace did not get so far.

    Rounded once: pressures to 3 places (noise, step and fit 5), rates to 5, times to 2, ratios to 3; bounds outwards.
    `unsettled_s` is how long after the purge the pressure was last seen off its plateau, `left_again` whether it had
    stood there before. `window_*` and `fit_*` belong to the creep.
    """

    noise_bar: Decimal
    sensor_step_bar: Decimal
    steps_are_coarse: bool
    reached_range_end: bool
    sample_interval_s: Decimal
    end_s: Decimal
    ends_low: bool = False
    drops: int = 0
    released_s: Decimal | None = None
    flowing_bar: Decimal | None = None
    drop_under_purge_bar: Estimate | None = None
    unsettled_s: Decimal | None = None
    left_again: bool = False
    locked_up_s: Decimal | None = None
    lock_up_bar: Estimate | None = None
    time_to_lock_up_s: Estimate | None = None
    window_start_s: Decimal | None = None
    window_end_s: Decimal | None = None
    samples_judged: int = 0
    longest_gap_s: Decimal | None = None
    gap_across_recovery: bool = False
    clipped_bar: Decimal | None = None
    may_be_clipped: bool = False
    creep_bar_min: Estimate | None = None
    autocorrelation: Decimal | None = None
    fit_start_bar: Decimal | None = None
    fit_end_bar: Decimal | None = None
    rise_slows_down: bool = False
    creep_changes: bool = False
    hunting: Swing | None = None


@dataclass(frozen=True)
class Measured:
    """The figures, and the unrounded creep fit behind them (None if there was no window to fit)."""

    figures: Figures
    fit: Creep | None


def measure(trace: Trace, instrument: Instrument | None = None) -> Measured:
    """Measure a trace; the instrument's facts, if given, are in bar. Never fails on a trace that could be read."""
    known = instrument or Instrument()
    start = _of_record(trace, known)
    noise_bar, step_bar = float(start.noise_bar), float(start.sensor_step_bar)
    settling = find_settling(trace.times_s, trace.pressures_bar, noise_bar, step_bar)
    if settling is None or settling.ends_low:
        return Measured(replace(start, ends_low=settling is not None), None)
    purged = _of_purge(trace, settling, start, known)
    if not settling.steady:
        half = len(trace.times_s) // 2
        times_s = trace.times_s[half:]
        off_bar = trace.pressures_bar[half:] - (settling.plateau.intercept + settling.plateau.slope * times_s)
        return Measured(replace(purged, hunting=_swing(find_hunting(times_s, off_bar))), None)
    fit, fitted = _of_window(trace, settling, purged)
    return Measured(_of_drop(trace, settling, _of_lock_up(trace, settling, fitted, known), known), fit)


def _of_record(trace: Trace, known: Instrument) -> Figures:
    noise_bar = noise(trace.pressures_bar)
    step_bar = _step_bar(trace, known)
    coarse = step_bar > COARSE_NOISES * noise_bar
    if coarse:
        noise_bar = max(noise_bar, step_bar / 12**0.5)
    end_bar = np.inf if known.range_high is None else float(known.range_high)
    return Figures(
        noise_bar=_near(noise_bar, PLACES_FINE_BAR),
        sensor_step_bar=_near(step_bar, PLACES_FINE_BAR),
        steps_are_coarse=coarse,
        reached_range_end=bool(trace.pressures_bar.max() >= end_bar),
        sample_interval_s=_near(median(np.diff(trace.times_s)), PLACES_INTERVAL_S).normalize(),
        end_s=_near(float(trace.times_s[-1]), PLACES_S),
    )


def _step_bar(trace: Trace, known: Instrument) -> float:
    """The coarser of the stated step and the one seen, but a handful of distinct readings shows no step."""
    if known.resolution is None:
        return trace.resolution_bar
    seen_bar = trace.resolution_bar if len(np.unique(trace.pressures_bar)) >= MIN_DISTINCT else 0.0
    return max(seen_bar, float(known.resolution))


def _of_purge(trace: Trace, settling: Settling, before: Figures, known: Instrument) -> Figures:
    released_s = float(trace.times_s[settling.released])
    steps_s, gap_s = np.diff(trace.times_s), gap_length_s(trace.times_s)
    longest_s = float(steps_s[settling.released :].max(initial=0.0))
    clipped_bar = None
    if settling.steady:
        # A gauge that is read below its known end may well show one number for minutes: more is asked to call it stuck.
        steps = 1.0 if known.range_high is not None else 0.5
        clipped_bar = clipped_at(
            trace.pressures_bar, settling.released, settling.settled, steps * trace.resolution_bar
        )
    return replace(
        before,
        longest_gap_s=_near(longest_s, PLACES_S) if longest_s >= gap_s else None,
        gap_across_recovery=bool((steps_s[settling.released : settling.settled] >= gap_s).any()),
        clipped_bar=None if clipped_bar is None else _near(clipped_bar, PLACES_BAR),
        # A quiet sensor with coarse steps stands still by itself, and just so at an end of its range.
        may_be_clipped=settling.steady
        and known.range_high is None
        and standing_at(trace.pressures_bar[settling.settled :]) is not None,
        drops=settling.drops,
        released_s=_near(released_s, PLACES_S),
        left_again=settling.left_again,
        unsettled_s=_near(float(trace.times_s[settling.settled - 1]) - released_s, PLACES_S),
    )


def _of_window(trace: Trace, settling: Settling, before: Figures) -> tuple[Creep | None, Figures]:
    settled_s = float(trace.times_s[settling.settled])
    wait_s = guard_s(float(trace.times_s[settling.released]), settled_s)
    start_s, gap_s = settled_s + wait_s, gap_length_s(trace.times_s)
    judged = longest_stretch(trace.times_s, start_s, wait_s, gap_s)
    times_s, pressures_bar = (
        trace.times_s[judged.first : judged.end],
        trace.pressures_bar[judged.first : judged.end],
    )
    begun = replace(before, window_start_s=_near(start_s, PLACES_S), samples_judged=len(times_s))
    if len(times_s) < MIN_WINDOW_SAMPLES:
        return None, begun
    fit = fit_creep(times_s, pressures_bar, float(before.sensor_step_bar))
    line, halves = fit.line, fit.halves
    return fit, replace(
        begun,
        window_start_s=_near(float(times_s[0]), PLACES_S),
        window_end_s=_near(float(times_s[-1]), PLACES_S),
        creep_bar_min=_estimate(line.slope, line.low, line.high, PLACES_BAR_MIN),
        autocorrelation=_near(fit.rho, PLACES_RATIO),
        fit_start_bar=_near(line.intercept, PLACES_FINE_BAR),
        fit_end_bar=_near(line.intercept + line.slope * fit.duration_min, PLACES_FINE_BAR),
        rise_slows_down=halves.changed and halves.early.slope > max(halves.late.slope, 0.0),
        creep_changes=halves.changed,
        hunting=_swing(fit.hunting),
    )


def _of_lock_up(trace: Trace, settling: Settling, before: Figures, known: Instrument) -> Figures:
    """Lock-up pressure is the median of the first 5 s in the band.

    Its interval also holds the plateau line at that time, from which a slow recovery may still differ, and takes in
    scatter, sensor step and calibration.
    """
    settled_s, released_s = float(trace.times_s[settling.settled]), float(trace.times_s[settling.released])
    end = int(np.searchsorted(trace.times_s, settled_s + MIN_STEADY_S + 1e-9))
    lock_up_bar = median(trace.pressures_bar[settling.settled : end])
    plateau_bar = settling.plateau.intercept + settling.plateau.slope * (settled_s + MIN_STEADY_S / 2)
    scatter_bar = MEDIAN_PENALTY * float(before.noise_bar) * widening(float(before.autocorrelation or 0))
    parts_bar = [
        scatter_bar / (end - settling.settled) ** 0.5,
        float(before.sensor_step_bar) / 12**0.5,
        float(known.standard_uncertainty or 0),
    ]
    half_bar = COVERAGE_FACTOR * float(np.linalg.norm(parts_bar))
    soonest_s = float(trace.times_s[settling.settled_early - 1] - trace.times_s[settling.released + 1])
    latest_s = float(trace.times_s[settling.settled_late]) - released_s
    return replace(
        before,
        locked_up_s=_near(settled_s, PLACES_S),
        lock_up_bar=_estimate(
            lock_up_bar,
            min(lock_up_bar, plateau_bar) - half_bar,
            max(lock_up_bar, plateau_bar) + half_bar,
            PLACES_BAR,
        ),
        time_to_lock_up_s=_estimate(settled_s - released_s, max(soonest_s, 0.0), latest_s, PLACES_S),
    )


def _of_drop(trace: Trace, settling: Settling, before: Figures, known: Instrument) -> Figures:
    """How far the purge pulled the pressure down from the lock-up after it; both read by one instrument."""
    lock_up_bar, noise_bar, step_bar = (
        before.lock_up_bar,
        float(before.noise_bar),
        float(before.sensor_step_bar),
    )
    found = flowing_bar(trace, settling, noise_bar, step_bar, float(known.standard_uncertainty or 0))
    if lock_up_bar is None or found is None:
        return before
    flowing, half_bar = found
    return replace(
        before,
        flowing_bar=_near(flowing, PLACES_BAR),
        drop_under_purge_bar=_estimate(
            float(lock_up_bar.value) - flowing,
            float(lock_up_bar.low) - flowing - half_bar,
            float(lock_up_bar.high) - flowing + half_bar,
            PLACES_BAR,
        ),
    )


def _swing(hunting: Hunting | None) -> Swing | None:
    if hunting is None:
        return None
    return Swing(_near(hunting.frequency_hz, PLACES_RATIO), _near(hunting.amplitude_bar, PLACES_BAR))


def _estimate(value: float, low: float, high: float, places: int) -> Estimate:
    """Round a value to nearest and its interval outwards.

    The bounds lose their last binary digits first, so that a time of 3.6 s does not end up at 3.61.
    """
    unit = Decimal(1).scaleb(-places)
    return Estimate(
        value=_near(value, places),
        low=_near(low, places + 6).quantize(unit, ROUND_FLOOR),
        high=_near(high, places + 6).quantize(unit, ROUND_CEILING),
    )


def _near(value: float, places: int) -> Decimal:
    return Decimal(value).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
