"""Days and instants in words, and the paths of drawings."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from shop.paper.rules import day, moment, own, pieces, strokes


@pytest.mark.parametrize(
    ("path", "points"),
    [
        ("M1,2 3,4.5 5,-6", [[(1.0, 2.0), (3.0, 4.5), (5.0, -6.0)]]),
        ("M54 100H870M54 300v5", [[(54.0, 100.0), (870.0, 100.0)], [(54.0, 300.0), (54.0, 305.0)]]),
        ("M300.5 4V304", [[(300.5, 4.0), (300.5, 304.0)]]),
        ("", []),
    ],
)
def test_it_works(path: str, points: list[list[tuple[float, float]]]) -> None:
    assert strokes(path) == points


def test_it_writes_days_and_instants_on_the_workshop_s_clock() -> None:
    late = datetime(2026, 7, 1, 23, 5, tzinfo=UTC)

    assert day(date(2026, 3, 5)) == "5 Mar 2026"
    assert moment(late, ZoneInfo("Europe/London")) == "2 Jul 2026 00:05"


@pytest.mark.parametrize(("count", "said"), [(0, "0 parts"), (1, "1 part"), (2, "2 parts")])
def test_it_counts(count: int, said: str) -> None:
    assert pieces(count) == said


def test_it_keeps_the_words_around_a_name_in_their_order() -> None:
    assert own("محمد") == "\u200eمحمد\u200e"
