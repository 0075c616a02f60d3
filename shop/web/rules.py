"""The drawing of a passage as a dive. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Stop:
    """One stop of a dive: its depth is 0 at the surface and 1 at the bottom, without a scale."""

    key: str
    label: str
    depth: float


@dataclass(frozen=True)
class DiveLeg:
    """One leg as a point in px, with the place and the anchor of its label."""

    key: str
    label: str
    state: str
    x: int
    y: int
    label_x: int
    label_y: int
    anchor: str


@dataclass(frozen=True)
class Dive:
    """A drawn job: points and SVG paths in px, and the same said in a sentence."""

    legs: tuple[DiveLeg, ...]
    line_done: str
    line_ahead: str
    water: str
    surface: int
    held: bool
    sentence: str
    width: int
    height: int
    compact: bool

    @property
    def here(self) -> DiveLeg:
        """The leg the job is on."""
        return next(leg for leg in self.legs if leg.state == "here")


@dataclass(frozen=True)
class _Frame:
    """The paper a dive is drawn on, in px."""

    width: int
    side: int
    top: int
    bottom: int
    under: int


_FULL = _Frame(width=560, side=34, top=28, bottom=88, under=28)
_COMPACT = _Frame(width=250, side=10, top=11, bottom=53, under=11)


def draw(stops: Sequence[Stop], at: int, *, held: bool, compact: bool) -> Dive:
    """Draw a dive along its stops to the one it is at."""
    frame = _COMPACT if compact else _FULL
    points = _points(stops, frame)
    return Dive(
        legs=tuple(_leg(stops, i, at, points) for i in range(len(stops))),
        line_done=_path(points[: at + 1]),
        line_ahead=_path(points[at:]),
        water=_path([(points[0][0], frame.top), *points, (points[-1][0], frame.top)]) + " Z",
        surface=frame.top,
        held=held,
        sentence=_sentence([stop.label for stop in stops], at, held),
        width=frame.width,
        height=max(y for _, y in points) + frame.under,
        compact=compact,
    )


def _points(stops: Sequence[Stop], frame: _Frame) -> list[tuple[int, int]]:
    step = (frame.width - 2 * frame.side) / max(len(stops) - 1, 1)
    deep = frame.bottom - frame.top
    return [
        (round(frame.side + i * step), round(frame.top + deep * stop.depth)) for i, stop in enumerate(stops)
    ]


def _path(points: Sequence[tuple[int, int]]) -> str:
    """The points as an SVG path; empty for a single point, which has no line."""
    return "M" + " L".join(f"{x} {y}" for x, y in points) if len(points) > 1 else ""


def _leg(stops: Sequence[Stop], i: int, at: int, points: Sequence[tuple[int, int]]) -> DiveLeg:
    x, y = points[i]
    anchor, across, down = _label_place(i, points)
    state = "done" if i < at else "here" if i == at else "ahead"
    return DiveLeg(stops[i].key, stops[i].label, state, x, y, x + across, y + down, anchor)


def _label_place(i: int, points: Sequence[tuple[int, int]]) -> tuple[str, int, int]:
    """Anchor and offset in px that keep a label off the line: behind it going down, ahead coming up."""
    before = points[max(i - 1, 0)][1]
    y = points[i][1]
    after = points[min(i + 1, len(points) - 1)][1]
    if i == 0:
        return "start", -4, -12
    if i == len(points) - 1:
        return "end", 4, -12 if y < before else 23
    if before > y and after > y:
        return "middle", 0, -12
    if after > y:
        return "end", 0, 23
    if before > y:
        return "start", 2, 21
    return "middle", 0, 23


def _sentence(labels: Sequence[str], at: int, held: bool) -> str:
    hold = ", on hold" if held else ""
    after = f"next {labels[at + 1]}" if at + 1 < len(labels) else "the end of its passage"
    return f"Now {labels[at]}{hold}, {after}."
