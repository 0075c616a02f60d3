"""Geometry of the two drawings of a bench test: the trace, and the little ruler with an interval on it.

Every coordinate is ready text with a decimal point, so that a template only places it and no number format of the page's
language can break a path. Colours and line styles are the style sheet's.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from jobs.bench.methods.axes import Scale, min_max, place, polyline, pressure_ticks, time_ticks
from jobs.bench.methods.intermediate_pressure import LOCK_UP, Result
from jobs.bench.methods.traces import Trace
from jobs.bench.methods.units import symbol
from jobs.bench.methods.verdicts import Limit, plain

MAX_COLUMNS = 800
LEFT, RIGHT, TOP, BOTTOM = 54, 30, 34, 26
TOP_LINE_Y = "14"
RULER_WIDTH, RULER_HEIGHT = 170, 26
RULER_END = 6


@dataclass(frozen=True)
class Label:
    """Text at a place; `anchor` is SVG's text-anchor."""

    x: str
    y: str
    anchor: str
    text: str


@dataclass(frozen=True)
class Band:
    """The allowed pressures as a rectangle."""

    x: str
    y: str
    width: str
    height: str


@dataclass(frozen=True)
class Picture:
    """A trace ready to draw: paths, the limit band, labels, and one sentence that says it all."""

    width: str
    height: str
    sentence: str
    line: str
    fit: str
    mark: str
    grid: str
    band: Band | None
    labels: tuple[Label, ...]


@dataclass(frozen=True)
class Ruler:
    """A value with its interval on a line, ready to draw, and the sentence that says the same."""

    width: str
    height: str
    sentence: str
    line: str
    bar: str
    value: str
    limits: str


def trace_picture(
    trace: Trace, result: Result, limits: Iterable[Limit], width: int = 900, height: int = 330
) -> Picture:
    """Draw a trace with its fitted line, lock-up mark and the band of its lock-up limit, if one is given."""
    limit = next((each.to("bar") for each in limits if each.quantity == LOCK_UP), None)
    low_bar, high_bar = _pressure_range(trace, limit)
    across = Scale(float(trace.times_s[0]), float(trace.times_s[-1]), LEFT, width - RIGHT)
    up = Scale(low_bar, high_bar, height - BOTTOM, TOP)
    columns = min(MAX_COLUMNS, width - LEFT - RIGHT)
    locked_up_s = result.figures.locked_up_s
    return Picture(
        width=str(width),
        height=str(height),
        sentence=_trace_sentence(trace, result, limit),
        line=polyline(across, up, *min_max(trace.times_s, trace.pressures_bar, columns)),
        fit=_fit(result, across, up),
        mark=_mark(locked_up_s, across, height) + _drop_mark(result, across, up),
        grid=_grid(across, up),
        band=_band(limit, across, up),
        labels=(
            *_tick_labels(across, up),
            *_limit_labels(limit, across, up),
            *_mark_labels(result, across, up),
        ),
    )


def interval_ruler(
    value: Decimal,
    low: Decimal,
    high: Decimal,
    limit_low: Decimal | None,
    limit_high: Decimal | None,
    *,
    unit: str,
) -> Ruler:
    """Draw a value and its interval against its limits, all in `unit`; an open side is None.

    The line always shows everything: it runs from the lowest to the highest number with a fifth to spare, and from zero
    where there is only one limit.
    """
    limits = [side for side in (limit_low, limit_high) if side is not None]
    shown = [float(number) for number in (value, low, high, *limits)] + ([0.0] if len(limits) < 2 else [])
    margin = 0.2 * (max(shown) - min(shown)) or 1.0
    across = Scale(min(shown) - margin, max(shown) + margin, RULER_END, RULER_WIDTH - RULER_END)
    words = f"{plain(value)} {symbol(unit)}, 95 % interval {plain(low)} to {plain(high)} {symbol(unit)}"
    named = ((limit_low, "lower"), (limit_high, "upper"))
    words += "".join(
        f"; {word} limit {plain(side)} {symbol(unit)}" for side, word in named if side is not None
    )
    return Ruler(
        width=str(RULER_WIDTH),
        height=str(RULER_HEIGHT),
        sentence=f"{words}.",
        line=f"M{RULER_END} 15H{RULER_WIDTH - RULER_END}",
        bar=f"M{place(across.at(float(low)))} 15H{place(across.at(float(high)))}",
        value=f"M{place(across.at(float(value)))} 8v14",
        limits="".join(f"M{place(across.at(float(side)))} 6v18" for side in limits),
    )


def _pressure_range(trace: Trace, limit: Limit | None) -> tuple[float, float]:
    sides = [] if limit is None else [float(side) for side in (limit.low, limit.high) if side is not None]
    low = min([float(trace.pressures_bar.min()), *sides])
    high = max([float(trace.pressures_bar.max()), *sides])
    margin = max(0.06 * (high - low), 0.01)
    return low - margin, high + margin


def _fit(result: Result, across: Scale, up: Scale) -> str:
    figures = result.figures
    if figures.fit_start_bar is None or figures.fit_end_bar is None:
        return ""
    times_s = np.array([float(figures.window_start_s or 0), float(figures.window_end_s or 0)])
    return polyline(across, up, times_s, np.array([float(figures.fit_start_bar), float(figures.fit_end_bar)]))


def _mark(locked_up_s: Decimal | None, across: Scale, height: int) -> str:
    return "" if locked_up_s is None else f"M{place(across.at(float(locked_up_s)))} 4V{height - BOTTOM}"


def _drop_mark(result: Result, across: Scale, up: Scale) -> str:
    """From the lock-up down to the pressure while the purge flowed, at its release."""
    figures = result.figures
    if figures.flowing_bar is None or figures.lock_up_bar is None:
        return ""
    x = place(across.at(float(figures.released_s or 0)))
    top, foot = (place(up.at(float(side))) for side in (figures.lock_up_bar.value, figures.flowing_bar))
    return f"M{x} {top}V{foot}"


def _grid(across: Scale, up: Scale) -> str:
    flat = [
        f"M{place(across.start)} {place(up.at(tick))}H{place(across.end)}"
        for tick, _ in pressure_ticks(up.low, up.high)
    ]
    feet = [f"M{place(across.at(tick))} {place(up.start)}v5" for tick in time_ticks(across.low, across.high)]
    return "".join([*flat, *feet])


def _band(limit: Limit | None, across: Scale, up: Scale) -> Band | None:
    """An open side reaches the edge of the drawing."""
    if limit is None:
        return None
    top = up.end if limit.high is None else up.at(float(limit.high))
    bottom = up.start if limit.low is None else up.at(float(limit.low))
    return Band(place(across.start), place(top), place(across.end - across.start), place(bottom - top))


def _tick_labels(across: Scale, up: Scale) -> list[Label]:
    times = [
        Label(place(across.at(tick)), place(up.start + 22), "middle", f"{tick:g} s")
        for tick in time_ticks(across.low, across.high)
    ]
    left = place(across.start - 8)
    pressures = [
        Label(left, place(up.at(tick) + 4), "end", text) for tick, text in pressure_ticks(up.low, up.high)
    ]
    return [*times, *pressures, Label(left, TOP_LINE_Y, "end", "bar")]


def _limit_labels(limit: Limit | None, across: Scale, up: Scale) -> list[Label]:
    if limit is None:
        return []
    return [
        Label(place(across.end), place(up.at(float(side)) + away), "end", f"{word} limit {plain(side)} bar")
        for side, word, away in ((limit.high, "upper", -6), (limit.low, "lower", 16))
        if side is not None
    ]


def _mark_labels(result: Result, across: Scale, up: Scale) -> list[Label]:
    figures = result.figures
    if figures.locked_up_s is None or figures.time_to_lock_up_s is None:
        return []
    x = across.at(float(figures.locked_up_s))
    left = x > (across.start + across.end) / 2
    away, anchor = (-5, "end") if left else (5, "start")
    text = f"locked up {plain(figures.time_to_lock_up_s.value)} s after the purge"
    found = [Label(place(x + away), TOP_LINE_Y, anchor, text)]
    if figures.drop_under_purge_bar is not None and figures.flowing_bar is not None:
        said = f"dropped {plain(figures.drop_under_purge_bar.value)} bar"
        found.append(Label(place(x + away), place(up.at(float(figures.flowing_bar)) + 4), anchor, said))
    return found


def _trace_sentence(trace: Trace, result: Result, limit: Limit | None) -> str:
    figures = result.figures
    parts = [f"Intermediate pressure over {trace.times_s[-1] - trace.times_s[0]:.0f} s"]
    if figures.lock_up_bar is not None and figures.time_to_lock_up_s is not None:
        pressure, time = plain(figures.lock_up_bar.value), plain(figures.time_to_lock_up_s.value)
        parts.append(f"locked up at {pressure} bar {time} s after the purge")
    if figures.drop_under_purge_bar is not None:
        parts.append(f"dropped {plain(figures.drop_under_purge_bar.value)} bar under the purge")
    if figures.creep_bar_min is not None:
        creep = figures.creep_bar_min
        interval = f"{plain(creep.low)} to {plain(creep.high)} bar/min"
        parts.append(f"creep {plain(creep.value)} bar/min, 95 % interval {interval}")
    if limit is not None:
        parts.append(f"lock-up limit {limit}")
    return f"{'; '.join(parts)}; verdict {result.verdict}."
