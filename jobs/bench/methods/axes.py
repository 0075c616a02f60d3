"""Scales, tick marks and thinning for the drawings; everything ends as text with a decimal point."""

import math
from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.logs import Floats

TIME_STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400, 172800)
MAX_TIME_TICKS = 7
PRESSURE_TICKS = 5


@dataclass(frozen=True)
class Scale:
    """A straight map from data to the drawing; `low` and `high` differ."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Where a value is drawn."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def place(coordinate: float) -> str:
    """A coordinate to a tenth of a pixel, as SVG reads it."""
    return f"{coordinate:.1f}".removesuffix(".0")


def polyline(across: Scale, up: Scale, x: Floats, y: Floats) -> str:
    """The path through the points, each at its `place`."""
    placed = np.stack([_placed(across, x), _placed(up, y)], axis=1).ravel().tolist()
    # All at once: a string a number would take most of the time of a drawing.
    return "M" + ("%.1f,%.1f " * len(x) % tuple(placed)).replace(".0,", ",").replace(".0 ", " ")[:-1]


def _placed(scale: Scale, values: Floats) -> Floats:
    return scale.start + (values - scale.low) / (scale.high - scale.low) * (scale.end - scale.start)


def min_max(x: Floats, y: Floats, columns: int) -> tuple[Floats, Floats]:
    """Thin a line to the lowest and the highest sample of each column, in their order; few samples stay all."""
    if len(x) <= 2 * columns:
        return x, y
    edges = np.unique(np.searchsorted(x, np.linspace(x[0], x[-1], columns + 1)[:-1]))
    runs = np.diff(edges, append=len(x))
    of_run = np.repeat(np.arange(len(runs)), runs)
    kept = []
    for most in (np.minimum, np.maximum):
        found = np.flatnonzero(y == np.repeat(most.reduceat(y, edges), runs))
        kept.append(found[np.unique(of_run[found], return_index=True)[1]])
    rows = np.unique(np.concatenate(kept))
    return x[rows], y[rows]


def time_ticks(low_s: float, high_s: float) -> list[float]:
    """At most seven round times in seconds; for a record shorter than a second, its two ends."""
    span_s = high_s - low_s
    step_s = next((step for step in TIME_STEPS_S if span_s <= step * (MAX_TIME_TICKS - 1)), None)
    if step_s is None or span_s < step_s:
        return [low_s, high_s]
    first, last = math.ceil(low_s / step_s - 1e-9), math.floor(high_s / step_s + 1e-9)
    return [float(index * step_s) for index in range(first, last + 1)]


def pressure_ticks(low_bar: float, high_bar: float) -> list[tuple[float, str]]:
    """About five round pressures, each with its number as text."""
    rough = (high_bar - low_bar) / PRESSURE_TICKS
    exponent = math.floor(math.log10(rough))
    step = next(
        10.0**exponent * factor for factor in (1, 2, 5, 10) if 10.0**exponent * factor >= rough * 0.999
    )
    places = max(1, -exponent)
    indices = range(math.ceil(low_bar / step), math.floor(high_bar / step) + 1)
    return [(index * step, f"{index * step:.{places}f}") for index in indices]
