"""Geometry of the drawing of a breathing loop: pressure over volume, inhalation below zero, exhalation above."""

from collections.abc import Iterable

import numpy as np

from jobs.bench.methods.axes import Scale, min_max, place, polyline, pressure_ticks
from jobs.bench.methods.breathing_loop import Result
from jobs.bench.methods.logs import Floats
from jobs.bench.methods.loop_values import PEAK_EXHALATION, PEAK_INHALATION, WORK
from jobs.bench.methods.loops import Loop
from jobs.bench.methods.pictures import BOTTOM, LEFT, MAX_COLUMNS, RIGHT, TOP, TOP_LINE_Y, Label, Picture
from jobs.bench.methods.verdicts import Limit, plain

MOST_BREATHS = 10


def loop_picture(
    loop: Loop, result: Result, limits: Iterable[Limit], width: int = 900, height: int = 330
) -> Picture:
    """Draw at most ten breaths, evenly chosen: inhalation as the line, exhalation as the fit.

    The marks are zero pressure and the limits of the peaks, if there are any.
    """
    count = len(loop.breaths)
    chosen = np.unique(np.linspace(0, count - 1, min(count, MOST_BREATHS)).round().astype(int))
    breaths = [loop.breaths[index] for index in chosen]
    sides = _sides(limits)
    across = Scale(0.0, max(breath.tidal_l for breath in breaths), LEFT, width - RIGHT)
    reaching = [0.0, *(side for side, _, _ in sides)]
    low = min([float(breath.pressures_mbar.min()) for breath in breaths] + reaching)
    high = max([float(breath.pressures_mbar.max()) for breath in breaths] + reaching)
    margin = max(0.06 * (high - low), 0.1)
    up = Scale(low - margin, high + margin, height - BOTTOM, TOP)
    columns = min(MAX_COLUMNS, width - LEFT - RIGHT) // len(breaths)
    return Picture(
        width=str(width),
        height=str(height),
        sentence=_sentence(result, len(breaths)),
        line=" ".join(
            _path(across, up, each.volumes_l[: each.most + 1], each.pressures_mbar[: each.most + 1], columns)
            for each in breaths
        ),
        fit=" ".join(
            _path(
                across, up, each.volumes_l[each.most :][::-1], each.pressures_mbar[each.most :][::-1], columns
            )
            for each in breaths
        ),
        mark="".join(_flat(across, up, each) for each in (0.0, *(side for side, _, _ in sides))),
        grid=grid(across, up),
        band=None,
        labels=(*_tick_labels(across, up), *_limit_labels(sides, across, up)),
    )


def _sides(limits: Iterable[Limit]) -> list[tuple[float, str, int]]:
    """Each side of a limit on a peak: mbar, its words, and how far from its line these stand."""
    converted = [each.to("mbar") for each in limits if each.quantity in (PEAK_INHALATION, PEAK_EXHALATION)]
    return [
        (float(side), f"{limit.quantity.removesuffix(' pressure')}: {word} limit {plain(side)} mbar", away)
        for limit in converted
        for side, word, away in ((limit.high, "upper", -6), (limit.low, "lower", 16))
        if side is not None
    ]


def _path(across: Scale, up: Scale, volumes_l: Floats, pressures_mbar: Floats, columns: int) -> str:
    """One direction; noise may make a volume go back a little, which a thinned line cannot show."""
    if len(volumes_l) > 2 * columns:
        order = np.argsort(volumes_l, kind="stable")
        volumes_l, pressures_mbar = min_max(volumes_l[order], pressures_mbar[order], columns)
    return polyline(across, up, volumes_l, pressures_mbar)


def _flat(across: Scale, up: Scale, pressure_mbar: float) -> str:
    return f"M{place(across.start)} {place(up.at(pressure_mbar))}H{place(across.end)}"


def grid(across: Scale, up: Scale) -> str:
    """Lines across at round pressures, and feet at round values of the other axis."""
    flat = [_flat(across, up, tick) for tick, _ in pressure_ticks(up.low, up.high)]
    feet = [
        f"M{place(across.at(tick))} {place(up.start)}v5"
        for tick, _ in pressure_ticks(across.low, across.high)
    ]
    return "".join([*flat, *feet])


def _tick_labels(across: Scale, up: Scale) -> list[Label]:
    volumes = [
        Label(place(across.at(tick)), place(up.start + 22), "middle", f"{text} L")
        for tick, text in pressure_ticks(across.low, across.high)
    ]
    left = place(across.start - 8)
    pressures = [
        Label(left, place(up.at(tick) + 4), "end", text) for tick, text in pressure_ticks(up.low, up.high)
    ]
    lines = Label(place(across.end), TOP_LINE_Y, "end", "inhaling drawn through, exhaling dashed")
    return [*volumes, *pressures, Label(left, TOP_LINE_Y, "end", "mbar"), lines]


def _limit_labels(sides: list[tuple[float, str, int]], across: Scale, up: Scale) -> list[Label]:
    return [Label(place(across.end), place(up.at(side) + away), "end", words) for side, words, away in sides]


def _sentence(result: Result, drawn: int) -> str:
    figures = result.figures
    parts = [f"Breathing loop, {drawn} of {figures.breaths} breaths drawn"]
    for name, unit in ((WORK, "J/L"), (PEAK_INHALATION, "mbar"), (PEAK_EXHALATION, "mbar")):
        value = figures.values[name]
        interval = ""
        if value.low is not None and value.high is not None:
            interval = f", 95 % interval {plain(value.low)} to {plain(value.high)} {unit}"
        parts.append(f"{name} {plain(value.value)} {unit}{interval}")
    return f"{'; '.join(parts)}; verdict {result.verdict}."
