"""Geometry of the small drawing of one figure over the services of an item."""

from collections.abc import Sequence
from datetime import date

from jobs.bench.methods.axes import Scale, place, pressure_ticks
from jobs.bench.methods.drift import Drift, Point
from jobs.bench.methods.pictures import BOTTOM, LEFT, RIGHT, TOP, TOP_LINE_Y, Band, Label, Picture
from shop.paper.rules import day

WIDTH, HEIGHT = 640, 240
ARM = 5  # half the width of a mark at a value


def drift_picture(
    points: Sequence[Point],
    found: Drift,
    limit_low: float | None,
    limit_high: float | None,
    next_due: date,
    *,
    name: str,
    unit: str,
) -> Picture:
    """Draw each value with its interval, the limit as a band, the line if there is one, up to the next service.

    The upright mark is the newest service; what is right of it has not happened yet.
    """
    up = _up(points, limit_low, limit_high)
    first, last = points[0].on, points[-1].on
    across = Scale(first.toordinal(), max(next_due, last).toordinal() + 1, LEFT, WIDTH - RIGHT)
    foot = place(up.start + 22)
    ends = [
        Label(place(across.start), foot, "start", day(first)),
        Label(place(across.end), foot, "end", f"next due {day(next_due)}"),
    ]
    ticks = pressure_ticks(up.low, up.high)
    left = place(across.start - 8)
    return Picture(
        width=str(WIDTH),
        height=str(HEIGHT),
        sentence=_sentence(points, found, name, unit),
        line="".join(_value(point, across, up) for point in points),
        fit=_fit(found, across, up, first, max(next_due, last)),
        mark=f"M{place(across.at(last.toordinal()))} {TOP}V{place(up.start)}",
        grid="".join(f"M{place(across.start)} {place(up.at(tick))}H{place(across.end)}" for tick, _ in ticks),
        band=_band(across, up, limit_low, limit_high),
        labels=(
            *ends,
            *(Label(left, place(up.at(tick) + 4), "end", text) for tick, text in ticks),
            Label(left, TOP_LINE_Y, "end", unit),
        ),
    )


def _up(points: Sequence[Point], limit_low: float | None, limit_high: float | None) -> Scale:
    shown = [
        side
        for point in points
        for side in (point.value, point.low, point.high, limit_low, limit_high)
        if side is not None
    ]
    margin = 0.08 * (max(shown) - min(shown)) or 0.1
    return Scale(min(shown) - margin, max(shown) + margin, HEIGHT - BOTTOM, TOP)


def _value(point: Point, across: Scale, up: Scale) -> str:
    x = across.at(point.on.toordinal())
    flat = f"M{place(x - ARM)} {place(up.at(point.value))}h{2 * ARM}"
    if point.low is None or point.high is None:
        return flat
    return f"{flat}M{place(x)} {place(up.at(point.low))}V{place(up.at(point.high))}"


def _fit(found: Drift, across: Scale, up: Scale, first: date, until: date) -> str:
    """The line as far as it stays in the drawing."""
    line = found.line
    if line is None:
        return ""
    if not up.low <= line.at(until) <= up.high:
        until = max(line.reaches(up.high if line.slope > 0.0 else up.low), first)
    ends = [f"{place(across.at(on.toordinal()))},{place(up.at(line.at(on)))}" for on in (first, until)]
    return "M" + " ".join(ends)


def _band(across: Scale, up: Scale, low: float | None, high: float | None) -> Band:
    """An open side reaches the edge of the drawing."""
    top = up.end if high is None else up.at(high)
    bottom = up.start if low is None else up.at(low)
    return Band(place(across.start), place(top), place(across.end - across.start), place(bottom - top))


def _sentence(points: Sequence[Point], found: Drift, name: str, unit: str) -> str:
    services = "1 service" if len(points) == 1 else f"{len(points)} services"
    parts = [f"{name} over {services}, the newest {points[-1].value:.4g} {unit} on {day(points[-1].on)}"]
    if found.line is not None:
        line = found.line
        parts.append(f"slope {line.slope:.3g} {unit} a year, 95 % interval {line.low:.3g} to {line.high:.3g}")
    return f"{'; '.join(parts)}. {found.why}"
