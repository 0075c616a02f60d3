"""Two logs over each other: where points come to lie, and what a window leaves out."""

import re

import numpy as np
import pytest

from jobs.bench.methods.overlays import Curve, of_loop, of_trace, overlay, window_of
from jobs.bench.methods.pictures import LEFT, RIGHT
from jobs.bench.methods.traces import from_samples
from tests.bench.methods.breathing import angles, resisting, sinus

TIMES = np.arange(0.0, 60.0, 1.0)
UNITS = ("s", "bar")


def curve(name: str, zero_s: float = 0.0, bar: float = 9.0) -> Curve:
    return of_trace(from_samples(TIMES, bar + 0.01 * (TIMES % 2)), name, zero_s)


def points(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", path)]


def test_the_whole_of_the_longer_curve_is_shown() -> None:
    assert window_of([curve("one"), curve("other", zero_s=20.0)], None, None) == (-20.0, 59.0)


@pytest.mark.parametrize(
    ("start", "end", "says"),
    [
        (30.0, 30.0, "after the start"),
        (30.0, 20.0, "after the start"),
        (90.0, 95.0, "no sample from 90 to 95"),
    ],
)
def test_a_window_without_anything_is_refused(start: float, end: float, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        window_of([curve("one")], start, end)


def test_both_share_the_axes_and_each_keeps_its_zero() -> None:
    one, other = curve("one"), curve("other", zero_s=10.0, bar=8.0)

    drawn = overlay([one, other], (0.0, 49.0), UNITS)

    first, second = points(drawn.line), points(drawn.fit)
    assert (first[0][0], first[-1][0]) == (LEFT, 900 - RIGHT)
    assert (second[0][0], second[-1][0]) == (LEFT, 900 - RIGHT)
    assert len(first) == len(second) == 50
    assert min(y for _, y in second) > max(y for _, y in first), "the lower pressure lies lower on the page"
    assert drawn.sentence == "From 0 to 49 s, in bar: one; laid over it, dashed: other."


def test_one_that_ends_before_the_window_is_not_drawn() -> None:
    drawn = overlay([curve("one"), curve("other", zero_s=59.5)], (10.0, 20.0), UNITS)

    assert (len(points(drawn.line)), drawn.fit) == (11, "")


def test_a_loop_has_both_directions_of_at_most_ten_breaths() -> None:
    loop = sinus(angles(breaths=12), resisting(angles(breaths=12)))

    found = of_loop(loop, "as received", 0.0)

    assert len(found.runs) == 2 * min(10, len(loop.breaths))
    assert all((np.diff(x) >= 0).all() for x, _ in found.runs)
    drawn = overlay([found], window_of([found], None, None), ("L", "mbar"))
    assert len(drawn.line.split("M")) == len(found.runs) + 1
