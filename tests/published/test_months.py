"""Month arithmetic against python-dateutil, and published examples.

Independent source: python-dateutil 2.9.0, `relativedelta`, whose documentation states that a day past the end of a
month becomes that month's last day.
"""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]  # it has no type information
from hypothesis import example, given, settings
from hypothesis.strategies import dates, integers

from shop.workshop.rules import add_months


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 8, 31), 6, date(2025, 2, 28)),
        (date(2023, 8, 31), 6, date(2024, 2, 29)),
    ],
)
def test_it_works(day: date, months: int, later: date) -> None:
    """Computed once with python-dateutil and written down, so that a change of the library shows too."""
    assert add_months(day, months) == later
    assert day + relativedelta(months=months) == later


@settings(max_examples=2000, deadline=None)
@given(day=dates(date(1900, 1, 1), date(2400, 12, 31)), months=integers(-1200, 1200))
@example(day=date(2024, 2, 29), months=48)
@example(day=date(2000, 1, 31), months=-1200)
def test_it_agrees_with_dateutil(day: date, months: int) -> None:
    assert add_months(day, months) == day + relativedelta(months=months)


@settings(max_examples=500, deadline=None)
@given(day=dates(date(1900, 1, 1), date(2400, 12, 31)), months=integers(0, 600))
def test_it_never_falls_back_as_months_grow(day: date, months: int) -> None:
    assert add_months(day, months) < add_months(day, months + 1)
