"""Geometry of the drawing over services, worked by hand: two pixels a day, 180 pixels for 1.16 times what is shown."""

from datetime import date, timedelta

import pytest

from jobs.bench.methods.drift import Drift, Line, Point
from jobs.bench.methods.drift_pictures import drift_picture
from jobs.bench.methods.pictures import Band, Label, Picture

FIRST, NEWEST, DUE = date(2022, 3, 1), date(2022, 6, 9), date(2022, 12, 3)
# From 1 to 3, so drawn from 0.84 to 3.16: y is 214 - 180 * (value - 0.84) / 2.32.
POINTS = [Point(FIRST, 1.0), Point(NEWEST, 2.0, 1.5, 3.0)]


def drawn(
    line: Line | None = None, low: float | None = None, high: float | None = None, due: date = DUE
) -> Picture:
    return drift_picture(POINTS, Drift(line, None, "Why."), low, high, due, name="Lock-up", unit="bar")


def across(slope_a_day: float) -> Line:
    """The line through the newest service with a slope in bar a day."""
    return Line(NEWEST, 2.0, slope_a_day * 365.25, 0.0, 0.0)


def test_it_works() -> None:
    picture = drawn()

    assert (picture.width, picture.height) == ("640", "240")
    assert picture.line == "M49 201.6h10M249 124h10M254 162.8V46.4"
    assert picture.mark == "M254 34V214"
    assert picture.grid == "M54 201.6H610M54 162.8H610M54 124H610M54 85.2H610M54 46.4H610"
    assert picture.labels == (
        Label("54", "236", "start", "1 Mar 2022"),
        Label("610", "236", "end", "next due 3 Dec 2022"),
        Label("46", "205.6", "end", "1.0"),
        Label("46", "166.8", "end", "1.5"),
        Label("46", "128", "end", "2.0"),
        Label("46", "89.2", "end", "2.5"),
        Label("46", "50.4", "end", "3.0"),
        Label("46", "14", "end", "bar"),
    )
    assert picture.sentence == "Lock-up over 2 services, the newest 2 bar on 9 Jun 2022. Why."


@pytest.mark.parametrize(
    ("low", "high", "band"),
    [
        (1.5, 2.0, Band("54", "124", "556", "38.8")),
        (None, 2.0, Band("54", "124", "556", "90")),
        (2.0, None, Band("54", "34", "556", "90")),
    ],
)
def test_it_draws_the_limit_as_a_band(low: float | None, high: float | None, band: Band) -> None:
    assert drawn(low=low, high=high).band == band


@pytest.mark.parametrize(
    ("slope_a_day", "path"),
    [
        # 0.0116 a day goes through half of the height, 90 pixels, in 100 days.
        (0.0116, "M54,214 454,34"),
        (-0.0116, "M54,34 454,214"),
        # A tenth of it stays inside: 9 pixels in 100 days, until the next service 177 days later.
        (0.00116, "M54,133 608,108.1"),
        (-0.00116, "M54,115 608,139.9"),
    ],
)
def test_it_draws_the_line_as_far_as_it_stays_inside(slope_a_day: float, path: str) -> None:
    assert drawn(across(slope_a_day)).fit == path


def test_it_is_drawn_up_to_the_newest_service_where_the_next_was_due_before() -> None:
    picture = drawn(across(0.00116), due=NEWEST - timedelta(days=10))

    # 101 days on 556 pixels.
    assert picture.mark == "M604.5 34V214"
    assert picture.fit.split()[1] == "604.5,124"


def test_figures_that_are_all_alike_stand_in_the_middle() -> None:
    alike = [Point(FIRST, 10.02)]
    picture = drift_picture(alike, Drift(None, None, "Why."), None, None, DUE, name="Lock-up", unit="bar")

    assert picture.line == "M49 124h10"
    assert [label.text for label in picture.labels][2:-1] == ["9.95", "10.00", "10.05", "10.10"]
    assert picture.sentence == "Lock-up over 1 service, the newest 10.02 bar on 1 Mar 2022. Why."
