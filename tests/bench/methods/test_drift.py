"""When a figure is flagged while it is still inside its limit."""

from datetime import date, timedelta

import pytest

from jobs.bench.methods.drift import Line, Point, drift, fitted
from jobs.bench.methods.drift_pictures import drift_picture

FIRST, DUE = date(2022, 3, 1), date(2026, 3, 1)


def series(*values: float, half: float | None = 0.01) -> list[Point]:
    """A figure once a year from March 2022 on."""
    return [
        Point(date(2022 + n, 3, 1), value, None if half is None else value - half, None if half is None else value + half)
        for n, value in enumerate(values)
    ]  # fmt: skip


def told(points: list[Point], low: float | None, high: float | None, due: date = DUE) -> tuple[bool, str]:
    found = drift(points, low, high, due)
    return found.flagged is not None, found.why


INSIDE = "It moves, but the line stays inside until the next service is due."
REACHES = "Still inside, but the line reaches the {} limit before the next service is due."
CHANCE = "No drift can be told from chance: the slope's interval holds zero."


def test_it_works() -> None:
    found = drift(series(9.4, 9.6, 9.8, 9.98), 9.0, 10.0, DUE)

    assert found.why == REACHES.format("upper")
    assert found.flagged == date(2025, 3, 27)
    assert found.line is not None
    assert found.line.slope == pytest.approx(0.194, abs=0.001)


@pytest.mark.parametrize(
    ("points", "low", "high", "flagged", "why"),
    [
        (series(9.4, 9.6, 9.8, 10.1), 9.0, 10.0, False, "It is outside its limit already."),
        (series(9.4, 9.3, 9.2, 8.9), 9.0, 10.0, False, "It is outside its limit already."),
        (series(9.6, 9.4, 9.2, 9.02), 9.0, 10.0, True, REACHES.format("lower")),
        (series(9.6, 9.4, 9.2, 9.02), None, 10.0, False, "It moves away from its only limit."),
        (series(9.4, 9.6, 9.8, 9.98), 9.0, None, False, "It moves away from its only limit."),
        (series(9.1, 9.15, 9.2, 9.25), 9.0, 10.0, False, INSIDE),
        (series(9.4, 9.35, 9.3, 9.25), 9.0, 10.0, False, INSIDE),
        (series(9.9, 9.5, 9.9, 9.98), 9.0, 10.0, False, CHANCE),
        (series(9.4, 9.6, 9.8, 9.98, half=0.5), 9.0, 10.0, False, CHANCE),
        (series(9.5, 9.5, 9.5), 9.0, 10.0, False, CHANCE),
        (series(9.4, 9.98), 9.0, 10.0, False, "2 of at least 3 services: no line is drawn."),
        (series(9.4), 9.0, 10.0, False, "1 of at least 3 services: no line is drawn."),
        (series(9.4, 9.6, 9.8, half=None), 9.0, 10.0, False, "Not every figure has an interval: no line is drawn."),
        (series(9.4, 9.6, 9.8, half=0.0), 9.0, 10.0, False, "Not every figure has an interval: no line is drawn."),
    ],
)  # fmt: skip
def test_it_flags_by_the_rule(
    points: list[Point], low: float | None, high: float | None, flagged: bool, why: str
) -> None:
    assert told(points, low, high) == (flagged, why)


def test_it_asks_for_three_days_and_not_for_three_figures() -> None:
    same_day = [*series(9.4, 9.6), Point(date(2023, 3, 1), 9.61, 9.6, 9.62)]

    assert fitted(same_day) is None


def test_it_takes_the_side_of_an_interval_that_is_wider() -> None:
    assert Point(FIRST, 1.0, 0.9, 1.0).sigma == pytest.approx(Point(FIRST, 1.0, 0.9, 1.1).sigma)


def test_a_figure_without_an_interval_has_no_uncertainty() -> None:
    assert Point(FIRST, 1.0).sigma == 0.0


def test_it_looks_no_farther_than_the_next_service() -> None:
    points = series(9.2, 9.4, 9.6, 9.8)

    assert told(points, 9.0, 10.0, date(2025, 9, 1)) == (False, INSIDE)
    assert told(points, 9.0, 10.0, date(2026, 9, 1)) == (True, REACHES.format("upper"))


def test_it_draws_every_service_the_limit_and_the_line() -> None:
    points = series(9.4, 9.6, 9.8, 9.98)
    picture = drift_picture(points, drift(points, 9.0, 10.0, DUE), 9.0, 10.0, DUE, name="Lock-up", unit="bar")

    assert picture.line.count("M") == 8
    assert picture.fit.startswith("M54,")
    assert picture.band is not None
    assert float(picture.band.height) > 100
    assert picture.sentence.startswith(
        "Lock-up over 4 services, the newest 9.98 bar on 1 Mar 2025; slope 0.194 bar a year"
    )
    assert [label.text for label in picture.labels][:2] == ["1 Mar 2022", "next due 1 Mar 2026"]
    assert all(0 <= float(label.x) <= 640 and 0 <= float(label.y) <= 240 for label in picture.labels)


def test_it_draws_one_service_without_limits_or_interval() -> None:
    points = series(9.4, half=None)
    picture = drift_picture(
        points, drift(points, None, None, DUE), None, None, DUE, name="Lock-up", unit="bar"
    )

    assert (picture.line.count("M"), picture.fit) == (1, "")
    assert picture.sentence == (
        "Lock-up over 1 service, the newest 9.4 bar on 1 Mar 2022. 1 of at least 3 services: no line is drawn."
    )


def test_its_line_reaches_the_next_service_while_it_stays_in_the_drawing() -> None:
    points = series(9.4, 9.41, 9.4, 9.41)
    picture = drift_picture(points, drift(points, 9.0, 10.0, DUE), 9.0, 10.0, DUE, name="Lock-up", unit="bar")

    x, y = picture.fit.split()[1].split(",")
    assert float(x) == pytest.approx(610, abs=0.5)
    assert 34 < float(y) < 214


def test_its_line_ends_where_the_drawing_ends() -> None:
    """A steep line far beyond the limit leaves the drawing before the next service."""
    points = series(1.0, 2.0, 3.0)
    late = DUE + timedelta(days=4000)
    picture = drift_picture(
        points, drift(points, None, 3.5, late), None, 3.5, late, name="Creep", unit="bar/min"
    )

    x, y = picture.fit.split()[1].split(",")
    assert float(x) < 610
    assert 33 <= float(y) <= 40


def test_it_counts_a_year_as_it_is_long() -> None:
    line = Line(date(2025, 3, 1), 9.0, 0.5, 0.4, 0.6)

    assert line.reaches(10.0) == date(2027, 3, 1)
    assert line.at(date(2026, 3, 1)) == pytest.approx(9.5, abs=0.001)
