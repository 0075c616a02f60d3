"""Any trace that can be read is judged, and the largest one quickly and in little memory."""

import time
import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from jobs.bench.methods.intermediate_pressure import judge
from jobs.bench.methods.traces import Floats, from_samples
from tests.bench.methods.purges import LIMITS, purge


def test_it_works() -> None:
    assert judge(purge(seconds=600, rate_hz=10), LIMITS).verdict == "within"


@settings(max_examples=150, deadline=None)
@given(
    arrays(np.float64, st.integers(30, 120), elements=st.floats(-1000, 1000, width=32)),
    st.floats(1e-6, 1000.0),
    st.booleans(),
)
def test_it_judges_anything_that_can_be_read(pressures_bar: Floats, interval_s: float, purged: bool) -> None:
    times_s = np.arange(len(pressures_bar), dtype=np.float64) * np.float64(max(interval_s, 2e-6))
    if purged:
        pressures_bar = np.where(times_s < times_s[10], 5.0, 9.5 + pressures_bar / 1e5)
    result = judge(from_samples(times_s, pressures_bar), LIMITS)
    assert set(result.decisions) == {"lock-up", "time to lock up", "creep"}
    for estimate in (
        result.figures.lock_up_bar,
        result.figures.creep_bar_min,
        result.figures.time_to_lock_up_s,
    ):
        assert estimate is None or estimate.low <= estimate.value <= estimate.high


@pytest.mark.parametrize(
    ("samples", "seconds", "memory_mb"), [(6_000, 2.0, 20), (30_000, 2.0, 20), (200_000, 5.0, 150)]
)
def test_it_stays_quick_and_small(samples: int, seconds: float, memory_mb: int) -> None:
    # Ten times what an idle two-core machine needs, so that only a change of order turns it red.
    trace = purge(seconds=600, rate_hz=(samples - 1) / 600)
    assert len(trace.times_s) == samples
    begun = time.perf_counter()
    judge(trace, LIMITS)
    assert time.perf_counter() - begun < seconds
    tracemalloc.start()
    try:
        judge(trace, LIMITS)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < memory_mb * 1_000_000
