"""Two logs over each other: where points come to lie, and what a window leaves out."""

import re

import numpy as np
import pytest

from jobs.bench.methods.overlays import Curve, of_loop, of_trace, overlay, window_of
from jobs.bench.methods.pictures import LEFT, RIGHT, Label
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


def test_every_coordinate_is_where_it_belongs() -> None:
    """Two pixels a second from 54 on; 1 to 3 bar drawn from 0.88 to 3.12, so y is 394 - 360 * (bar - 0.88) / 2.24."""
    times_s = np.arange(409.0)
    rising = of_trace(from_samples(times_s, 1.0 + times_s / 204.0), "one", 0.0)

    drawn = overlay([rising], (0.0, 408.0), UNITS)

    assert (drawn.width, drawn.height, drawn.mark, drawn.band) == ("900", "420", "", None)
    assert (points(drawn.line)[0], points(drawn.line)[-1]) == ((54, 374.7), (870, 53.3))
    assert drawn.grid == (
        "M54 374.7H870M54 294.4H870M54 214H870M54 133.6H870M54 53.3H870"
        "M54 394v5M254 394v5M454 394v5M654 394v5M854 394v5"
    )
    assert drawn.labels == (
        Label("54", "416", "middle", "0 s"),
        Label("254", "416", "middle", "100 s"),
        Label("454", "416", "middle", "200 s"),
        Label("654", "416", "middle", "300 s"),
        Label("854", "416", "middle", "400 s"),
        Label("46", "378.7", "end", "1.0"),
        Label("46", "298.4", "end", "1.5"),
        Label("46", "218", "end", "2.0"),
        Label("46", "137.6", "end", "2.5"),
        Label("46", "57.3", "end", "3.0"),
        Label("46", "14", "end", "bar"),
    )


def test_a_flat_curve_has_a_hundredth_to_either_side() -> None:
    flat = of_trace(from_samples(TIMES, np.full(60, 9.502)), "one", 0.0)

    texts = [label.text for label in overlay([flat], (0.0, 59.0), UNITS).labels if label.x == "46"]

    assert texts == ["9.495", "9.500", "9.505", "9.510", "bar"]


def test_each_run_of_a_long_curve_is_thinned_to_its_share() -> None:
    long = np.arange(100_000.0)
    many = Curve("one", tuple((long, long % 7) for _ in range(20)))

    assert len(points(overlay([many], (0.0, 99_999.0), UNITS).line)) == 20 * 2 * (800 // 20)


def test_one_sample_or_a_thousandth_is_seen() -> None:
    assert window_of([curve("one")], 5.0, 5.001) == (5.0, 5.001)
    with pytest.raises(ValueError, match=r"at least 0\.001 after"):
        window_of([curve("one")], 5.0, 5.0009)


def test_one_that_ends_before_the_window_is_not_drawn() -> None:
    drawn = overlay([curve("one"), curve("other", zero_s=59.5)], (10.0, 20.0), UNITS)

    assert (len(points(drawn.line)), drawn.fit) == (11, "")


def test_a_loop_has_both_directions_of_at_most_ten_breaths() -> None:
    loop = sinus(angles(breaths=12), resisting(angles(breaths=12)))

    found = of_loop(loop, "as received", 0.0)

    assert len(found.runs) == 2 * min(10, len(loop.breaths))
    assert all((np.diff(x) >= 0).all() for x, _ in found.runs)
    # Either direction reaches from turn to turn, both included.
    assert all((x[0], x[-1]) == pytest.approx((0.0, 2.5)) for x, _ in found.runs)
    assert {len(x) for x, _ in found.runs} == {101}
    drawn = overlay([found], window_of([found], None, None), ("L", "mbar"))
    assert len(drawn.line.split("M")) == len(found.runs) + 1
