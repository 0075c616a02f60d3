"""Intervals against published examples and python-dateutil.

D1: 49 CFR 180.209, month rule (read): a 3AA cylinder tested in May 2021 is due on 31 May 2026. D3: App. C to part 180 (read). D4: an
instructor manual of a national federation (read second-hand): pressure test January 2022, visual inspection January 2026, in
test to January 2027. D7: AS 2337 (read second-hand). Month ends: python-dateutil 2.9.0, relativedelta with day=31.
"""

from datetime import date

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]  # it has no type information
from hypothesis import given, settings
from hypothesis.strategies import dates, integers

from shop.clocks.rules import Due, History, due, reckon
from shop.intervals.models import Interval
from shop.intervals.reads import shipped
from shop.intervals.rules import Anchor, Limit, Material, longest
from shop.intervals.shapes import IntervalIn

ROWS = [Interval(**told) for told in shipped()]


def rows(place: str, clock: str, **more: str) -> list[Interval]:
    """The shipped rows of a place and a clock."""
    found = [row for row in ROWS if (row.place, row.clock) == (place, clock)]
    return [row for row in found if all(getattr(row, name) == value for name, value in more.items())]


def test_d1_a_steel_cylinder_in_the_usa() -> None:
    (row,) = rows("USA", "pressure_test", specification="3A 3AA")
    assert due(row.limit, History(date(2021, 5, 9))) == Due(date(2026, 5, 31))


def test_d3_the_alloy_needs_eddy_current_as_well() -> None:
    (row,) = rows("USA", "eddy_current")
    assert (row.material, row.months) == (Material.ALUMINIUM_6351, 60)


def test_d4_a_visual_inspection_does_not_move_the_pressure_test() -> None:
    """The pressure test restarts the visual inspection, not the other way round; the sooner of both is what counts."""
    (visual,), (pressure,) = rows("United Kingdom", "visual"), rows("United Kingdom", "pressure_test")
    tested = due(pressure.limit, History(date(2022, 1, 20)))
    inspected = due(visual.limit, History(date(2026, 1, 20)))
    assert (visual.months, pressure.months) == (30, 60)
    assert (tested.day, inspected.day) == (date(2027, 1, 20), date(2028, 7, 20))
    assert min(filter(None, [tested.day, inspected.day])) == date(2027, 1, 20)


def test_d7_australia() -> None:
    (row,) = rows("Australia", "pressure_test")
    assert due(row.limit, History(date(2025, 5, 20))) == Due(date(2026, 5, 20))


def test_france_counts_from_entry_into_service() -> None:
    """Decree of 20 Nov 2017, article 18 (read second-hand)."""
    (row,) = rows("France", "pressure_test")
    new = History(made=date(2019, 5, 1), in_service=date(2020, 2, 3))
    assert due(row.limit, new) == Due(date(2022, 2, 3))


def test_no_shipped_row_is_longer_than_what_is_breathed_under_water() -> None:
    for row in ROWS:
        most = longest(row.place, row.kind, row.clock)
        assert most is None or (row.months or 0) <= most, row
    assert {row.months for row in ROWS if row.kind == "cylinder"} == {None, 4, 12, 24, 30, 60, 72}


def test_a_row_without_a_figure_says_so() -> None:
    for row in ROWS:
        assert row.limit.empty or row.status != "not found", row
    # What has no figure but was read all the same: an approval withdrawn, a habit of the trade.
    assert {(row.place, row.status) for row in ROWS if row.limit.empty and row.status != "not found"} == {
        ("Australia", "read second-hand"),
        ("", "common practice, no source"),
    }


def test_every_row_could_be_typed() -> None:
    for told in shipped():
        shape = IntervalIn(data=told)
        assert shape.is_valid(), shape.errors


@settings(max_examples=500, deadline=None)
@given(day=dates(date(1900, 1, 1), date(2400, 12, 31)), months=integers(1, 600))
def test_it_agrees_with_dateutil(day: date, months: int) -> None:
    assert due(Limit(months=months), History(day)).day == day + relativedelta(months=months)
    last = due(Limit(months=months, month_end=True), History(day)).day
    assert last == day + relativedelta(months=months, day=31)


@settings(max_examples=300, deadline=None)
@given(day=dates(date(1990, 1, 1), date(2100, 12, 31)), one=integers(1, 240), other=integers(1, 240))
def test_the_shorter_of_two_is_never_later_than_either(day: date, one: int, other: int) -> None:
    made = Limit(months=other, anchor=Anchor.MADE)
    found = reckon([Limit(months=one), made], History(day, made=day)).day
    assert found == min(day + relativedelta(months=one), day + relativedelta(months=other))
