"""The pressure trace that a logger writes, read with every fault named.

The file's forms are those of `logs.py`; its columns are `t_s`, time in seconds since the start of the record, and a gauge
pressure, `p_bar` (or `p_mbar`, `p_kpa`, `p_psi`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from jobs.bench.methods.logs import (
    MAX_REASONS,
    MAX_SAMPLES,
    UNWORDED,
    Fault,
    Floats,
    Log,
    UnreadableTrace,
    read_log,
    too_many,
)
from jobs.bench.methods.units import convert

__all__ = ["HEADINGS", "Floats", "Trace", "UnreadableTrace", "from_samples", "parse_csv"]

MIN_SAMPLES = 30
MAX_PRESSURE_BAR = 1_000.0
MAX_TIME_S = 1_000_000.0
MIN_STEP_S = 1e-6

_UNITS = {"p_bar": "bar", "p_mbar": "mbar", "p_kpa": "kPa", "p_psi": "psi"}
HEADINGS = tuple(f"t_s,{name}" for name in _UNITS)


@dataclass(frozen=True, eq=False)
class Trace:
    """A sampled gauge pressure: strictly increasing times, finite pressures, and the smallest step seen in them."""

    times_s: Floats
    pressures_bar: Floats
    resolution_bar: float


def parse_csv(content: str | bytes | Log) -> Trace:
    """Read a logger's file in any form; UnreadableTrace with all its faults, each with its line or sample."""
    log = content if isinstance(content, Log) else read_log(content, HEADINGS)
    to_bar = float(convert(Decimal(1), _UNITS[log.names[1]], "bar"))
    return _trace(log.columns[0], log.columns[1] * to_bar, log.numbers, log.word, list(log.faults))


def from_samples(times_s: Sequence[float] | Floats, pressures_bar: Sequence[float] | Floats) -> Trace:
    """Build a trace from numbers already in seconds and bar; UnreadableTrace with all faults, by sample number."""
    times = np.array(times_s, dtype=np.float64)
    pressures = np.array(pressures_bar, dtype=np.float64)
    if times.ndim != 1 or times.shape != pressures.shape:
        raise UnreadableTrace(["There must be one pressure for each time."])
    if len(times) > MAX_SAMPLES:
        too_many(len(times))
    return _trace(times, pressures, np.arange(1, len(times) + 1), "Sample", [])


def _trace(
    times_s: Floats, pressures_bar: Floats, numbers: NDArray[np.int64], word: str, faults: list[Fault]
) -> Trace:
    found = sorted([*faults, *_faults(times_s, pressures_bar, numbers, word)], key=lambda fault: fault[0])
    if found:
        raise UnreadableTrace([sentence for _, sentence in found])
    times_s.setflags(write=False)
    pressures_bar.setflags(write=False)
    steps = np.diff(np.unique(pressures_bar))
    # Converted prints of one reading differ in their last binary digits; that is no step of the sensor.
    steps = steps[steps > 1e-9]
    return Trace(times_s, pressures_bar, float(steps.min()) if len(steps) else 0.0)


def _faults(times_s: Floats, pressures_bar: Floats, numbers: NDArray[np.int64], word: str) -> list[Fault]:
    faults: list[Fault] = []
    if len(times_s) < MIN_SAMPLES:
        faults.append((0, f"There are {len(times_s)} readable samples; at least {MIN_SAMPLES} are needed."))
    faults.extend(wild(times_s, MAX_TIME_S, "time", "s", numbers, word))
    faults.extend(wild(pressures_bar, MAX_PRESSURE_BAR, "pressure", "bar", numbers, word))
    return [*faults, *out_of_order(times_s, numbers, word)]


def wild(
    values: Floats, most: float, name: str, unit: str, numbers: NDArray[np.int64], word: str
) -> list[Fault]:
    """A fault for each value that is no number or further from zero than `most`."""
    # Written as "not within", so that a value that is no number at all is caught too.
    rows = np.flatnonzero(~(np.abs(values) <= most))
    shown, rest = rows[:MAX_REASONS], rows[MAX_REASONS:]
    worded = [
        (number, f"{word} {number}: {name} {value:g} {unit} is beyond reason.")
        for number, value in zip(numbers[shown].tolist(), values[shown].tolist(), strict=True)
    ]
    return worded + [UNWORDED] * len(rest)


def out_of_order(times_s: Floats, numbers: NDArray[np.int64], word: str) -> list[Fault]:
    """A fault for each time that is not after the one before; a time beyond reason has its own."""
    with np.errstate(invalid="ignore"):
        late_enough = np.diff(times_s) >= MIN_STEP_S
    rows = np.flatnonzero(~late_enough & (np.abs(times_s[1:]) <= MAX_TIME_S))
    shown, rest = rows[:MAX_REASONS], rows[MAX_REASONS:]
    times = zip(times_s[shown + 1].tolist(), times_s[shown].tolist(), strict=True)
    worded = [
        (number, f"{word} {number}: time {time_s:g} s is not after {before_s:g} s.")
        for number, (time_s, before_s) in zip(numbers[shown + 1].tolist(), times, strict=True)
    ]
    return worded + [UNWORDED] * len(rest)
