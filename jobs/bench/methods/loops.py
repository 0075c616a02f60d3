"""The record of a breathing machine: volume or flow, and mouth pressure, read with every fault named.

The file has one of the forms of `logs.py` and one of two headings: `v_l,p_mbar`, the volume in litres, or
`t_s,flow_l_s,p_mbar`, seconds, litres a second. Volume rises and flow is positive on inhalation; mouth pressure is against ambient, negative on
inhalation. A record holds one closed breath or several in their order.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jobs.bench.methods.breaths import Breath, cut
from jobs.bench.methods.logs import MAX_SAMPLES, Fault, Floats, Log, UnreadableTrace, read_log, too_many
from jobs.bench.methods.traces import MAX_TIME_S, out_of_order, wild

MIN_SAMPLES = 9
MAX_VOLUME_L = 1_000.0
MAX_FLOW_L_S = 100.0
MAX_PRESSURE_MBAR = 1_000.0
MIN_DISTINCT = 8

HEADINGS = ("v_l,p_mbar", "t_s,flow_l_s,p_mbar")


@dataclass(frozen=True, eq=False)
class Loop:
    """The closed breaths of a record, how many samples belong to none, and the smallest step seen in its pressure.

    The step is 0 where too few readings differ to show one.
    """

    breaths: tuple[Breath, ...]
    left_out: int
    resolution_mbar: float


def parse_csv(content: str | bytes | Log) -> Loop:
    """Read a breathing machine's file; UnreadableTrace with all its faults, each with its line or sample."""
    log = content if isinstance(content, Log) else read_log(content, HEADINGS)
    columns, faults = log.columns, list(log.faults)
    if len(columns) == 2:
        return _loop(columns[0], columns[1], log.numbers, log.word, faults)
    return _flow_loop(columns[0], columns[1], columns[2], log.numbers, log.word, faults)


def from_volumes(volumes_l: Sequence[float] | Floats, pressures_mbar: Sequence[float] | Floats) -> Loop:
    """Build a loop from numbers in litres and mbar; UnreadableTrace with all faults, by sample number."""
    volumes, pressures = _matched(volumes_l, pressures_mbar)
    return _loop(volumes, pressures, np.arange(1, len(volumes) + 1), "Sample", [])


def from_flows(
    times_s: Sequence[float] | Floats,
    flows_l_s: Sequence[float] | Floats,
    pressures_mbar: Sequence[float] | Floats,
) -> Loop:
    """Build a loop from numbers in seconds, litres a second and mbar; UnreadableTrace as above."""
    times, flows, pressures = _matched(times_s, flows_l_s, pressures_mbar)
    return _flow_loop(times, flows, pressures, np.arange(1, len(times) + 1), "Sample", [])


def _matched(*columns: Sequence[float] | Floats) -> list[Floats]:
    arrays = [np.array(column, dtype=np.float64) for column in columns]
    if any(array.ndim != 1 or array.shape != arrays[0].shape for array in arrays):
        raise UnreadableTrace(["There must be one pressure for each sample."])
    if len(arrays[0]) > MAX_SAMPLES:
        too_many(len(arrays[0]))
    return arrays


def _flow_loop(
    times_s: Floats,
    flows_l_s: Floats,
    pressures_mbar: Floats,
    numbers: NDArray[np.int64],
    word: str,
    faults: list[Fault],
) -> Loop:
    """Volume is flow over time by the trapezoid rule."""
    faults = [
        *faults,
        *wild(times_s, MAX_TIME_S, "time", "s", numbers, word),
        *wild(flows_l_s, MAX_FLOW_L_S, "flow", "L/s", numbers, word),
        *out_of_order(times_s, numbers, word),
    ]
    if faults:
        # A volume added up over a fault would be another fault on every later line.
        return _loop(np.zeros_like(times_s), pressures_mbar, numbers, word, faults)
    steps_l = np.diff(times_s) * (flows_l_s[1:] + flows_l_s[:-1]) / 2
    volumes_l = np.concatenate([np.zeros(min(len(times_s), 1)), np.cumsum(steps_l)])
    return _loop(volumes_l, pressures_mbar, numbers, word, [], times_s)


def _loop(
    volumes_l: Floats,
    pressures_mbar: Floats,
    numbers: NDArray[np.int64],
    word: str,
    faults: list[Fault],
    times_s: Floats | None = None,
) -> Loop:
    few = f"There are {len(numbers)} readable samples; at least {MIN_SAMPLES} are needed."
    found = [
        *([(0, few)] if len(numbers) < MIN_SAMPLES else []),
        *faults,
        *wild(volumes_l, MAX_VOLUME_L, "volume", "L", numbers, word),
        *wild(pressures_mbar, MAX_PRESSURE_MBAR, "pressure", "mbar", numbers, word),
    ]
    if found:
        raise UnreadableTrace([sentence for _, sentence in sorted(found, key=lambda fault: fault[0])])
    breaths, left_out = cut(volumes_l, pressures_mbar, times_s)
    for breath in breaths:
        breath.volumes_l.setflags(write=False)
        breath.pressures_mbar.setflags(write=False)
    return Loop(breaths, left_out, _step_mbar(pressures_mbar))


def _step_mbar(pressures_mbar: Floats) -> float:
    distinct = np.unique(pressures_mbar)
    steps = np.diff(distinct)
    return float(steps[steps > 1e-9].min()) if len(distinct) >= MIN_DISTINCT else 0.0
