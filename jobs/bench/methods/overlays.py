"""One or two logs over each other, in a window: as drawn points on shared axes, whatever the method."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.axes import Scale, min_max, place, polyline, pressure_ticks
from jobs.bench.methods.logs import Floats
from jobs.bench.methods.loop_pictures import MOST_BREATHS, grid
from jobs.bench.methods.loops import Loop
from jobs.bench.methods.pictures import (
    BOTTOM,
    LEFT,
    MAX_COLUMNS,
    RIGHT,
    TOP,
    TOP_LINE_Y,
    Label,
    Picture,
)
from jobs.bench.methods.traces import Trace

MOST_CURVES = 2
WIDTH, HEIGHT = 900, 420
LEAST_SPAN = 0.001


@dataclass(frozen=True, eq=False)
class Curve:
    """A log as points in the order in which they are joined, of equal length, with its name for the reader.

    `runs` are the stretches of it that are thinned apart: a trace is one, a loop one each direction of each breath.
    """

    name: str
    runs: tuple[tuple[Floats, Floats], ...]


def of_trace(trace: Trace, name: str, zero_s: float) -> Curve:
    """Pressure in bar over seconds since `zero_s`."""
    return Curve(name, ((trace.times_s - zero_s, trace.pressures_bar),))


def of_loop(loop: Loop, name: str, zero_s: float) -> Curve:
    """Pressure in mbar over litres, of at most ten breaths evenly chosen; a loop has no zero of time."""
    count = len(loop.breaths)
    chosen = np.unique(np.linspace(0, count - 1, min(count, MOST_BREATHS)).round().astype(int))
    runs = []
    for breath in (loop.breaths[index] for index in chosen):
        for part in (slice(None, breath.most + 1), slice(breath.most, None)):
            order = np.argsort(breath.volumes_l[part], kind="stable")
            runs.append((breath.volumes_l[part][order], breath.pressures_mbar[part][order]))
    return Curve(name, tuple(runs))


def window_of(curves: Sequence[Curve], start: float | None, end: float | None) -> tuple[float, float]:
    """What is shown of the horizontal axis; an end that is not given is that of the longest curve.

    ValueError when nothing would be seen.
    """
    low = min(float(x.min()) for curve in curves for x, _ in curve.runs) if start is None else start
    high = max(float(x.max()) for curve in curves for x, _ in curve.runs) if end is None else end
    if high - low < LEAST_SPAN:
        raise ValueError(f"The end must be at least {LEAST_SPAN:g} after the start.")
    if not any(_inside(x, low, high).any() for curve in curves for x, _ in curve.runs):
        raise ValueError(f"There is no sample from {low:g} to {high:g}.")
    return low, high


def overlay(curves: Sequence[Curve], window: tuple[float, float], units: tuple[str, str]) -> Picture:
    """Draw one or two curves in a window, the first as the line, the second dashed; units of the two axes."""
    low, high = window
    cut = [_cut(curve, low, high) for curve in curves]
    values = np.concatenate([y for runs in cut for _, y in runs])
    margin = max(0.06 * float(np.ptp(values)), 0.01)
    across = Scale(low, high, LEFT, WIDTH - RIGHT)
    up = Scale(float(values.min()) - margin, float(values.max()) + margin, HEIGHT - BOTTOM, TOP)
    paths = [_path(runs, across, up) for runs in cut]
    beside = "" if len(curves) < MOST_CURVES else f"; laid over it, dashed: {curves[1].name}"
    return Picture(
        width=str(WIDTH),
        height=str(HEIGHT),
        sentence=f"From {low:g} to {high:g} {units[0]}, in {units[1]}: {curves[0].name}{beside}.",
        line=paths[0],
        fit=paths[1] if len(paths) == MOST_CURVES else "",
        mark="",
        grid=grid(across, up),
        band=None,
        labels=_labels(across, up, units),
    )


def _inside(x: Floats, low: float, high: float) -> np.ndarray:
    return (x >= low) & (x <= high)


def _cut(curve: Curve, low: float, high: float) -> list[tuple[Floats, Floats]]:
    """What of a curve is in the window, each run by itself."""
    found = []
    for x, y in curve.runs:
        shown = _inside(x, low, high)
        if shown.any():
            found.append((x[shown], y[shown]))
    return found


def _path(runs: list[tuple[Floats, Floats]], across: Scale, up: Scale) -> str:
    each = MAX_COLUMNS // max(1, len(runs))
    return " ".join(polyline(across, up, *min_max(x, y, each)) for x, y in runs)


def _labels(across: Scale, up: Scale, units: tuple[str, str]) -> tuple[Label, ...]:
    left = place(across.start - 8)
    feet = [
        Label(place(across.at(tick)), place(up.start + 22), "middle", f"{tick:g} {units[0]}")
        for tick, _ in pressure_ticks(across.low, across.high)
    ]
    sides = [
        Label(left, place(up.at(tick) + 4), "end", text) for tick, text in pressure_ticks(up.low, up.high)
    ]
    return (*feet, *sides, Label(left, TOP_LINE_Y, "end", units[1]))
