"""What is made of times: medians, ratios, and whether a limit was kept."""

import pytest

from jobs.speed.rules import Limit, Measured, middle, told


def test_it_works() -> None:
    row = Measured("queue", [4.0, 2.0, 3.0], [1.0, 2.0, 9.0], Limit(times=2), 5, ("a\nb", "c"), ("a part",))

    assert told(row) == [
        "queue: ours 3.00 ms, 5 queries, raw 2.00 ms, ratio 1.50 (met: 2 times at most), 3 rounds",
        "    a part",
        "    ours: a",
        "    ours: b",
        "    raw: c",
    ]
    assert told(Measured("letters", [4.0], [])) == ["letters: ours 4.00 ms, 1 round"]


@pytest.mark.parametrize(
    ("times", "wanted"),
    [([5.0], 5.0), ([9.0, 1.0], 5.0), ([3.0, 1.0, 2.0], 2.0), ([4.0, 1.0, 2.0, 100.0], 3.0)],
)
def test_it_takes_the_middle(times: list[float], wanted: float) -> None:
    assert middle(times) == wanted


@pytest.mark.parametrize(
    ("ours", "limit", "wanted"),
    [
        (20.0, Limit(), ""),
        (20.0, Limit(times=2), "met: 2 times at most"),
        (20.1, Limit(times=2), "MISSED: 2 times at most"),
        (14.9, Limit(times=1.5), "met: 1.5 times at most"),
        (10.0, Limit(ms=10), "met: 10 ms at most"),
        (10.1, Limit(ms=10), "MISSED: 10 ms at most"),
    ],
)
def test_it_holds_a_question_against_its_limit(ours: float, limit: Limit, wanted: str) -> None:
    assert Measured("x", [ours], [10.0], limit).verdict == wanted
