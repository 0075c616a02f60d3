"""The quantities of a breathing loop in every breath, and their means with intervals.

Several breaths give each quantity's mean and the interval of that mean from their scatter; a pressure instrument that is
known widens it, and is all there is for one breath. Its uncertainty is taken at its worst: as one error in all of
inhalation and in all of exhalation that does not cancel. The error of the method and a closed gap widen it too.
"""

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

import numpy as np

from jobs.bench.methods.logs import Floats
from jobs.bench.methods.loops import Loop
from jobs.bench.methods.repeats import mean_of
from jobs.bench.methods.verdicts import COVERAGE_FACTOR
from jobs.bench.methods.work import J_PER_MBAR_L, Work, inhaled, parted
from jobs.bench.methods.worked import Value

WORK = "work of breathing"
INHALATION = "inhalation work"
EXHALATION = "exhalation work"
EXTERNAL = "external work during inhalation"
POSITIVE = "positive work during inhalation"
PEAK_INHALATION = "peak inhalation pressure"
PEAK_EXHALATION = "peak exhalation pressure"
POSITIVE_PRESSURE = "positive pressure during inhalation"
MINUTE_VOLUME = "minute volume"
QUANTITIES = {
    WORK: "J_l",
    INHALATION: "J_l",
    EXHALATION: "J_l",
    EXTERNAL: "J_l",
    POSITIVE: "J_l",
    PEAK_INHALATION: "mbar",
    PEAK_EXHALATION: "mbar",
    POSITIVE_PRESSURE: "mbar",
    MINUTE_VOLUME: "l_min",
}
PLACES = {"J_l": 4, "mbar": 3, "l_min": 2}
NEVER_NEGATIVE = {EXTERNAL, POSITIVE, POSITIVE_PRESSURE}


def in_each_breath(loop: Loop, works: list[Work]) -> dict[str, Floats]:
    """Each quantity in every breath, in its unit; the minute volume only where times are known."""
    found = {
        WORK: np.array([work.total for work in works]),
        INHALATION: np.array([work.inhaling for work in works]),
        EXHALATION: np.array([work.exhaling for work in works]),
        EXTERNAL: np.array([work.external for work in works]),
        POSITIVE: np.array([work.positive for work in works]),
        PEAK_INHALATION: np.array([work.lowest_mbar for work in works]),
        PEAK_EXHALATION: np.array([work.highest_mbar for work in works]),
        POSITIVE_PRESSURE: np.array([work.helping_mbar for work in works]),
    }
    minute_l = [60 * each.tidal_l / each.period_s for each in loop.breaths if each.period_s is not None]
    if minute_l:
        found[MINUTE_VOLUME] = np.array(minute_l)
    return found


def with_intervals(
    loop: Loop, works: list[Work], uncertainty_mbar: Decimal | None, doubtful_share: float
) -> dict[str, Value]:
    """The mean of each quantity. `uncertainty_mbar` is the instrument's half-width (k = 2), None if it is not known;
    `doubtful_share` is by which share of itself a work or a volume may be wrong for other reasons."""
    seen_mbar = COVERAGE_FACTOR * loop.resolution_mbar / 12**0.5
    halves = _instrument_halves(loop, works, max(seen_mbar, float(uncertainty_mbar or 0)))
    found = {}
    for name, repeats in in_each_breath(loop, works).items():
        mean, scatter = mean_of(repeats)
        instrument = halves.get(name)
        if scatter is None and (uncertainty_mbar is None or instrument is None):
            found[name] = Value(rounded(mean, PLACES[QUANTITIES[name]]), QUANTITIES[name])
            continue
        other = 0.0 if QUANTITIES[name] == "mbar" else doubtful_share * mean
        found[name] = _value(name, mean, float(np.linalg.norm([scatter or 0.0, instrument or 0.0, other])))
    return found


def rounded(value: float, places: int) -> Decimal:
    """To the nearest, and never a negative zero."""
    return Decimal(value).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN) + 0


def _instrument_halves(loop: Loop, works: list[Work], half_mbar: float) -> dict[str, float]:
    """How far the pressure's uncertainty can move each quantity, as the mean over the breaths."""
    part = J_PER_MBAR_L * half_mbar
    return {
        WORK: 2 * part,
        INHALATION: part,
        EXHALATION: part,
        # Both grow the faster the further they are, so the outward shift is the wider side.
        EXTERNAL: _mean_growth(loop, [work.external for work in works], -half_mbar, 0),
        POSITIVE: _mean_growth(loop, [work.positive for work in works], half_mbar, 1),
        PEAK_INHALATION: half_mbar,
        PEAK_EXHALATION: half_mbar,
        POSITIVE_PRESSURE: half_mbar,
    }


def _mean_growth(loop: Loop, parts: list[float], offset_mbar: float, side: int) -> float:
    """By how much more a part of inhalation is, below zero or above it, once its pressures are moved."""
    moved = [
        J_PER_MBAR_L / breath.tidal_l * parted(*inhaled(breath, offset_mbar))[side] for breath in loop.breaths
    ]
    return float(np.mean(moved) - np.mean(parts))


def _value(name: str, mean: float, half: float) -> Value:
    """Bounds rounded outwards; what cannot be negative has no negative bound."""
    low = max(mean - half, 0.0) if name in NEVER_NEGATIVE else mean - half
    step = Decimal(1).scaleb(-PLACES[QUANTITIES[name]])
    value = rounded(mean, PLACES[QUANTITIES[name]])
    return Value(
        value,
        QUANTITIES[name],
        min(rounded(low, 12).quantize(step, ROUND_FLOOR), value),
        max(rounded(mean + half, 12).quantize(step, ROUND_CEILING), value),
    )
