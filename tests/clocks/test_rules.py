"""When a clock is due, by tables."""

from datetime import date

import pytest

from shop.clocks.rules import Counted, Due, History, due, reckon
from shop.intervals.rules import Limit

DONE = date(2026, 3, 15)
KNOWN = History(last=DONE)


@pytest.mark.parametrize(
    ("limit", "history", "expected"),
    [
        (Limit(months=12), KNOWN, Due(date(2027, 3, 15))),
        (Limit(months=12, month_end=True), KNOWN, Due(date(2027, 3, 31))),
        (Limit(months=12, grace_days=30), KNOWN, Due(date(2027, 3, 15), grace=date(2027, 4, 14))),
        (Limit(months=12), History(), Due(unknown=True)),
        (Limit(months=12), History(in_service=DONE), Due(unknown=True)),
        (Limit(months=12, anchor="entry into service"), History(in_service=DONE), Due(date(2027, 3, 15))),
        (Limit(months=12, anchor="entry into service"), History(made=DONE), Due(unknown=True)),
        (Limit(months=12, anchor="manufacture"), History(made=DONE), Due(date(2027, 3, 15))),
        # Once it was done, the first days count no more.
        (Limit(months=12, anchor="manufacture"), History(DONE, date(2020, 1, 1)), Due(date(2027, 3, 15))),
        # Only a count decides, and it is not reached: neither unknown nor due.
        (Limit(dives=100), KNOWN, Due()),
    ],
)
def test_it_is_due(limit: Limit, history: History, expected: Due) -> None:
    assert due(limit, history) == expected


BEFORE, AFTER, LATER = date(2026, 3, 1), date(2026, 6, 1), date(2026, 9, 1)


@pytest.mark.parametrize(
    ("counted", "day"),
    [
        ([(AFTER, 99)], None),
        ([(AFTER, 100)], AFTER),
        # What was counted before the service does not count again.
        ([(BEFORE, 40), (AFTER, 139)], None),
        ([(BEFORE, 40), (AFTER, 139), (LATER, 140)], LATER),
        # A count of the day of the service is before it.
        ([(DONE, 500), (AFTER, 599)], None),
    ],
)
def test_it_counts_dives(counted: list[tuple[date, int]], day: date | None) -> None:
    rows = tuple(Counted("dives", on, total) for on, total in counted)
    assert due(Limit(dives=100), History(DONE, counted=rows)).day == day
    # Hours are another count.
    assert due(Limit(hours=100), History(DONE, counted=rows)).day is None


def test_it_takes_whichever_comes_first() -> None:
    both = Limit(months=12, dives=100)
    reached = History(DONE, counted=(Counted("dives", AFTER, 100),))
    assert due(both, reached).day == AFTER
    assert due(both, KNOWN).day == date(2027, 3, 15)


@pytest.mark.parametrize(
    ("limits", "expected"),
    [
        ([], Due()),
        ([Limit()], Due()),
        ([Limit(months=24), Limit(months=12)], Due(date(2027, 3, 15), which=1)),
        ([Limit(months=12), Limit(months=12)], Due(date(2027, 3, 15), which=0)),
        ([Limit(), Limit(months=12)], Due(date(2027, 3, 15), which=1)),
        ([Limit(dives=9), Limit(months=12)], Due(date(2027, 3, 15), which=1)),
        (
            [Limit(months=12), Limit(months=24, grace_days=1)],
            Due(date(2027, 3, 15), which=0, grace=date(2028, 3, 16)),
        ),
    ],
)
def test_the_soonest_decides(limits: list[Limit], expected: Due) -> None:
    assert reckon(limits, KNOWN) == expected


def test_what_is_unknown_comes_before_any_day() -> None:
    limits = [Limit(months=12, anchor="manufacture"), Limit(months=60)]
    assert reckon(limits, History(made=DONE)) == Due(unknown=True, which=1)
