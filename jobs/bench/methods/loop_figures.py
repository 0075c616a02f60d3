"""What the breaths of a machine show, measured and rounded, before any limit is asked."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from jobs.bench.methods.breaths import Breath
from jobs.bench.methods.loop_values import PLACES, QUANTITIES, in_each_breath, rounded, with_intervals
from jobs.bench.methods.loops import Loop
from jobs.bench.methods.typed_reading import expanded_uncertainty
from jobs.bench.methods.verdicts import Instrument
from jobs.bench.methods.work import Work, method_error, work_of
from jobs.bench.methods.worked import Value


@dataclass(frozen=True, kw_only=True)
class Figures:
    """The figures of one record, rounded once: pressures and volumes to 3 places, shares in percent to 2 or 3.

    `values` holds each quantity that could be measured, `singly` its value in every breath. `gap_*` is the widest gap that
    was closed, `zero_mbar` the mean pressure where nothing flows and `zero_moved_mbar` its change from the first breath to
    the last; `points_a_breath` are the fewest.
    """

    breaths: int
    points_a_breath: int
    method_error_percent: Decimal
    tidal_volume_l: Decimal
    tidal_low_l: Decimal
    tidal_high_l: Decimal
    breaths_min: Decimal | None
    gap_l: Decimal
    gap_percent: Decimal
    zero_mbar: Decimal
    zero_moved_mbar: Decimal
    span_mbar: Decimal
    samples_left_out: int
    instrument_known: bool
    reached_range_end: bool
    values: Mapping[str, Value]
    singly: Mapping[str, tuple[Decimal, ...]]


def measure(loop: Loop, instrument: Instrument | None = None) -> Figures:
    """Measure a loop; the instrument's facts, if given, are in mbar. Never fails on a loop that could be read."""
    known = instrument or Instrument()
    uncertainty_mbar = expanded_uncertainty(known)
    works = [work_of(breath) for breath in loop.breaths]
    points = min(len(breath.volumes_l) for breath in loop.breaths) - 1
    widest = max(loop.breaths, key=_gap_share)
    tidal_l = [breath.tidal_l for breath in loop.breaths]
    periods_s = [breath.period_s for breath in loop.breaths if breath.period_s is not None]
    # The volumes err by up to half the gap; a bound on an error counts as the whole of its interval.
    doubtful_share = float(np.hypot(method_error(points), _gap_share(widest) / 2))
    return Figures(
        breaths=len(works),
        points_a_breath=points,
        method_error_percent=rounded(100 * method_error(points), 3),
        tidal_volume_l=rounded(float(np.mean(tidal_l)), 3),
        tidal_low_l=rounded(min(tidal_l), 3),
        tidal_high_l=rounded(max(tidal_l), 3),
        breaths_min=rounded(60 / float(np.mean(periods_s)), 2) if periods_s else None,
        gap_l=rounded(widest.gap_l, 3),
        gap_percent=rounded(100 * _gap_share(widest), 2),
        zero_mbar=rounded(float(np.mean([work.zero_mbar for work in works])), 3),
        zero_moved_mbar=rounded(works[-1].zero_mbar - works[0].zero_mbar, 3),
        span_mbar=rounded(
            max(work.highest_mbar for work in works) - min(work.lowest_mbar for work in works), 3
        ),
        samples_left_out=loop.left_out,
        instrument_known=uncertainty_mbar is not None,
        reached_range_end=_reached_end(loop, known),
        values=with_intervals(loop, works, uncertainty_mbar, doubtful_share),
        singly=_singly(loop, works),
    )


def _gap_share(breath: Breath) -> float:
    return abs(breath.gap_l) / breath.tidal_l


def _reached_end(loop: Loop, known: Instrument) -> bool:
    """A sensor of mouth pressure reads as far below zero as above it."""
    extreme_mbar = max(float(np.abs(breath.pressures_mbar).max()) for breath in loop.breaths)
    return known.range_high is not None and extreme_mbar >= float(known.range_high)


def _singly(loop: Loop, works: list[Work]) -> dict[str, tuple[Decimal, ...]]:
    return {
        name: tuple(rounded(each, PLACES[QUANTITIES[name]]) for each in repeats.tolist())
        for name, repeats in in_each_breath(loop, works).items()
    }
