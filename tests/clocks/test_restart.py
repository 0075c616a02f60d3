"""Clocks: due until they run, restarted once per cause from the day of the service."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from shop.clocks.actions import restart, set_going
from shop.clocks.models import Clock, Restart
from shop.clocks.reads import due_by
from tests.conftest import Api, House
from tests.rows import nothing_changes
from tests.walk import ok


def going(house: House) -> Clock:
    by, item = house.people["technician"], house.item()
    return set_going(by=by, item=item, key="overhaul", title="Overhaul", months=12)


def run(house: House, clock: Clock, day: date, cause: str, months: int = 12) -> Clock:
    with transaction.atomic():
        return restart(by=house.people["technician"], clock=clock, months=months, day=day, cause=cause)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    run(house, going(house), date(2028, 2, 29), "a")

    (shown,) = ok(api["counter"].get("clocks"))["results"]

    assert (shown["anchor"], shown["due"], shown["months"]) == ("2028-02-29", "2029-02-28", 12)


def test_it_counts_a_clock_without_history_as_due(house: House) -> None:
    clock = going(house)

    assert clock.due is None
    assert list(due_by(date(1990, 1, 1))) == [clock]


def test_it_falls_due_on_its_day(house: House) -> None:
    clock = run(house, going(house), date(2030, 6, 1), "a")

    assert list(due_by(date(2031, 5, 31))) == []
    assert list(due_by(date(2031, 6, 1))) == [clock]


def test_it_keeps_what_it_was_before(house: House) -> None:
    clock = run(house, going(house), date(2030, 6, 1), "a")
    run(house, clock, date(2031, 5, 2), "b", months=24)

    row = Restart.objects.get(cause="b")
    assert (row.before_anchor, row.before_due, row.before_months) == (date(2030, 6, 1), date(2031, 6, 1), 12)
    assert (row.anchor, row.due) == (date(2031, 5, 2), date(2033, 5, 2))


def test_it_restarts_once_per_cause(house: House) -> None:
    clock = run(house, going(house), date(2030, 6, 1), "a")

    with pytest.raises(IntegrityError):
        run(house, clock, date(2031, 6, 1), "a")

    assert Clock.objects.get().due == date(2031, 6, 1)


def test_it_is_set_going_once(house: House) -> None:
    first = going(house)
    lead, item = house.people["lead"], first.item

    with nothing_changes():
        assert set_going(by=lead, item=item, key="overhaul", title="Another", months=24) == first
    assert (Clock.objects.get().title, Clock.objects.get().months) == ("Overhaul", 12)
