"""Figures of made-up traces whose parts can be worked by hand."""

from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.figures import Estimate, measure
from jobs.bench.methods.traces import Floats, Trace, from_samples
from jobs.bench.methods.verdicts import Instrument
from tests.bench.methods.purges import purge

TIMES = np.arange(0.0, 180.0, 0.5)


def after_purge(level_bar: Floats) -> Trace:
    """5 bar until 5 s, and at once the level from there on."""
    return from_samples(TIMES, np.where(TIMES <= 5.0, 5.0, level_bar))


def test_it_works() -> None:
    # Eleven readings in 5 s: 2 * sqrt((1.2533 * 0.02887)^2 / 11 + 0.1^2 / 12 + 0.02^2) = 0.07355.
    known = Instrument(Decimal("0.1"), Decimal(16), Decimal("0.02"))
    figures = measure(after_purge(np.full(360, 9.5, np.float64)), known).figures

    assert (figures.steps_are_coarse, figures.noise_bar) == (True, Decimal("0.02887"))
    assert figures.lock_up_bar == Estimate(Decimal("9.500"), Decimal("9.426"), Decimal("9.574"))
    # Between two samples, at the soonest at once.
    assert figures.time_to_lock_up_s == Estimate(Decimal("0.50"), Decimal("0.00"), Decimal("0.50"))


def test_steps_finer_than_the_noise_leave_it_as_it_was() -> None:
    figures = measure(purge(), Instrument(resolution=Decimal("0.001"))).figures

    assert not figures.steps_are_coarse
    assert figures.noise_bar == pytest.approx(Decimal("0.01"), abs=Decimal("0.002"))


def test_it_finds_the_lock_up_on_a_ramp_where_the_ramp_is() -> None:
    # 2.5 s after the band was reached at 5.5 s the ramp is at 9.5 + 0.002 * 3 bar, and so is the median of the first 5 s.
    found = measure(after_purge(9.5 + 0.002 * (TIMES - 5.0))).figures.lock_up_bar

    assert found == Estimate(Decimal("9.506"), Decimal("9.505"), Decimal("9.507"))


def test_it_tells_the_swing_of_a_pressure_that_never_settles() -> None:
    # 0.3 bar about a ramp, 0.05 times a second: four and a half swings in the half that is looked at.
    swing_bar = 0.3 * np.cos(2 * np.pi * 0.05 * TIMES)
    figures = measure(after_purge(9.5 + 0.004 * (TIMES - 5.0) + swing_bar)).figures

    assert figures.locked_up_s is None
    assert figures.hunting is not None
    assert figures.hunting.frequency_hz == pytest.approx(Decimal("0.05"), abs=Decimal("0.002"))
    assert figures.hunting.amplitude_bar == pytest.approx(Decimal("0.3"), abs=Decimal("0.02"))


@pytest.mark.parametrize(("range_high", "stuck"), [(None, True), (Decimal(16), False)])
def test_it_asks_more_of_a_gauge_with_a_known_end_to_call_it_stuck(
    range_high: Decimal | None, stuck: bool
) -> None:
    # Scattered over the steps of 0.1 bar by 0.1 and cut at 9.5: more than half a step and less than a whole one.
    scatter = np.random.default_rng(1).normal(0.0, 0.1, len(TIMES))
    shown_bar = np.asarray(np.round(np.minimum(9.5 + scatter, 9.5), 1), np.float64)
    figures = measure(after_purge(shown_bar), Instrument(range_high=range_high)).figures

    assert (figures.clipped_bar is not None) is stuck


def test_it_bounds_the_time_to_lock_up_by_the_samples_about_it() -> None:
    # Stairs of ten samples: 0.07, 0.06 and 0.04 bar below the plateau, 0.023 below it; half a step is 0.015 bar.
    levels = np.repeat([5.0, 9.40, 9.43, 9.44, 9.46, 9.477], 10)
    trace = from_samples(TIMES, np.concatenate([levels, np.full(300, 9.5)]))
    found = measure(trace, Instrument(Decimal("0.03"), Decimal(16))).figures.time_to_lock_up_s

    # From 4.5 s, or 5 s at the soonest, to 14.5 s, and to 20 s and 25 s.
    assert found == Estimate(Decimal("15.50"), Decimal("9.50"), Decimal("20.50"))
