"""Who comes, when, and the distribution of what that takes."""

from datetime import date, timedelta

import numpy as np
import pytest

from jobs.ahead.rules import SPANS, Call, Coming, Need, Others, Span, comes, foretold, learned, poisson

DAY = date(2026, 11, 27)


def days(n: int) -> date:
    return DAY + timedelta(days=n)


@pytest.mark.parametrize(
    ("asked", "came", "chance"), [(0, 0, 0.3), (10, 0, 0.15), (10, 10, 0.65), (990, 297, 0.3)]
)
def test_it_weighs_the_past_against_the_prior(asked: int, came: int, chance: float) -> None:
    assert Span(0, 4, 3, asked, came).chance == pytest.approx(chance)


def test_its_weeks_make_up_the_whole_span() -> None:
    span = Span(0, 4, 3)

    assert 1 - (1 - span.weekly) ** 4 == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("due", "came", "asked", "took"),
    [
        (-400, -390, [1, 1, 1, 0, 0, 0], [0, 0, 1, 0, 0, 0]),
        (-400, -401, [1, 1, 0, 0, 0, 0], [0, 1, 0, 0, 0, 0]),
        (-400, -400, [1, 1, 1, 0, 0, 0], [0, 0, 1, 0, 0, 0]),
        (-400, None, [1, 1, 1, 1, 1, 1], [0, 0, 0, 0, 0, 0]),
        (-400, -600, [0, 0, 0, 0, 0, 0], [0, 0, 0, 0, 0, 0]),  # came long before: nobody had called yet
        (-800, -10, [1, 1, 1, 1, 1, 1], [0, 0, 0, 0, 0, 0]),  # came long after: not for this call
        (-27, None, [1, 1, 0, 0, 0, 0], [0, 0, 0, 0, 0, 0]),  # the third span is not over
        (-27, -3, [1, 1, 0, 0, 0, 0], [0, 0, 0, 0, 0, 0]),  # nor for those who came: both or none count
        (200, None, [0, 0, 0, 0, 0, 0], [0, 0, 0, 0, 0, 0]),
    ],
)
def test_it_learns_from_a_call(due: int, came: int | None, asked: list[int], took: list[int]) -> None:
    found = learned([Call(days(due), None if came is None else days(came))], DAY)

    assert ([span.asked for span in found], [span.came for span in found]) == (asked, took)


@pytest.mark.parametrize(
    ("due", "weeks", "chance"),
    [
        (0, (0, 4), 0.3),
        (0, (4, 13), 0.7 * 0.2),
        (28, (0, 4), 0.2),
        (28, (4, 8), 0.8 * 0.3),
        (-28, (0, 9), 0.2),
        (-364, (0, 52), 0.0),  # a year late: nobody is waited for
        (560, (0, 52), 0.0),  # not yet
    ],
)
def test_when_a_customer_comes(due: int, weeks: tuple[int, int], chance: float) -> None:
    found = comes(days(due), DAY, SPANS)

    assert len(found) == 52
    assert found[weeks[0] : weeks[1]].sum() == pytest.approx(chance)


@pytest.mark.parametrize(
    ("days_late", "found"), [(-183, False), (-182, True), (0, True), (363, True), (364, False)]
)
def test_what_a_clock_foretells(days_late: int, found: bool) -> None:
    assert foretold(DAY, days(days_late)) is found


def test_the_words_of_the_spans() -> None:
    assert [span.words for span in SPANS[:4]] == [
        "26 to 4 weeks before",
        "the 4 weeks before",
        "the 4 weeks after",
        "4 to 13 weeks after",
    ]


def at_once(chance: float, pieces: int) -> Coming:
    """A customer who comes this week or not at all."""
    return Coming(np.array([chance, *[0.0] * 51]), pieces)


@pytest.mark.parametrize(
    ("need", "weeks", "found"),
    [
        (Need(), 3, [1, 0, 0, 0, 0, 0]),
        (Need(2), 3, [0, 0, 1, 0, 0, 0]),
        (Need(0, (at_once(0.25, 3),)), 3, [0.75, 0, 0, 0.25, 0, 0]),
        (Need(1, (at_once(0.5, 1), at_once(0.5, 3))), 3, [0, 0.25, 0.25, 0, 0.25, 0.25]),
        (Need(0, (at_once(0.5, 9),)), 3, [0.5, 0, 0, 0, 0, 0]),  # more than is looked at
        (Need(7), 3, [0, 0, 0, 0, 0, 0]),
        (Need(0, (at_once(0.5, 1),)), 104, [0.25, 0.5, 0.25, 0, 0, 0]),  # the second year is like the first
        (Need(1, (at_once(0.5, 1),)), 53, [0, 0.25, 0.5, 0.25, 0, 0]),  # what waits, waits once
    ],
)
def test_the_distribution_of_a_need(need: Need, weeks: int, found: list[float]) -> None:
    assert need.until(weeks, 5).tolist() == pytest.approx(found)


def test_expected_is_the_mean_of_the_distribution() -> None:
    spread = comes(days(10), DAY, SPANS)
    need = Need(2, (Coming(spread, 2), Coming(spread, 15)), (Others(0.25, 1), Others(0.1, 4)))

    for weeks in (1, 6, 52, 60):
        found = need.until(weeks, 200)
        assert found.sum() == pytest.approx(1.0)
        assert found @ np.arange(201) == pytest.approx(need.expected(weeks).sum())


def test_jobs_that_no_clock_foretells() -> None:
    assert poisson(2.0, 3, 7).tolist() == pytest.approx(
        [0.135335, 0, 0, 0.270671, 0, 0, 0.270671, 0], abs=1e-6
    )
    assert poisson(0.0, 3, 2).tolist() == [1, 0, 0]
