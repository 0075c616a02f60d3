"""The workshop's own time, its one row, and human numbers."""

from datetime import UTC, date, datetime

import pytest
from django.db import transaction

from shop.workshop.actions import next_number, open_workshop
from shop.workshop.models import Counter
from shop.workshop.reads import at, currency, local_day, noon, now, today, zone
from shop.workshop.rules import Refused
from tests.rows import nothing_changes


def test_it_works(db: None) -> None:
    open_workshop(name="Skerry Divers", zone="Australia/Lord_Howe", currency="AUD")

    assert (str(zone()), currency()) == ("Australia/Lord_Howe", "AUD")


def test_it_begins_its_days_in_its_own_zone(db: None) -> None:
    open_workshop(name="Skerry Divers", zone="Europe/London", currency="GBP")

    assert local_day(datetime(2026, 6, 30, 22, 59, tzinfo=UTC)) == date(2026, 6, 30)
    assert local_day(datetime(2026, 6, 30, 23, 0, tzinfo=UTC)) == date(2026, 7, 1)
    assert local_day(datetime(2026, 12, 31, 23, 59, tzinfo=UTC)) == date(2026, 12, 31)


@pytest.mark.parametrize("day", [date(2026, 3, 29), date(2026, 10, 25)])
def test_it_has_a_noon_on_days_when_the_clocks_change(db: None, day: date) -> None:
    open_workshop(name="Skerry Divers", zone="Europe/Berlin", currency="EUR")

    assert noon(day).astimezone(UTC).hour in (10, 11)
    assert local_day(noon(day)) == day


def test_it_takes_the_time_that_was_set_and_gives_it_back(db: None) -> None:
    before = now()

    with at(datetime(2030, 1, 1, tzinfo=UTC)):
        assert (now(), today()) == (datetime(2030, 1, 1, tzinfo=UTC), date(2030, 1, 1))
        with at(datetime(2031, 1, 1, tzinfo=UTC)):
            assert today() == date(2031, 1, 1)
        assert today() == date(2030, 1, 1)

    assert now() >= before


def test_it_opens_once_and_only_in_a_zone_that_there_is(db: None) -> None:
    open_workshop(name="Skerry Divers", zone="Europe/London", currency="GBP")

    with nothing_changes(), pytest.raises(Refused) as refused:
        open_workshop(name="Another", zone="Moon", currency="GBP")

    assert [refusal.code for refusal in refused.value.refusals] == ["workshop-open", "zone-unknown"]


def test_it_counts_each_kind_by_itself(db: None) -> None:
    with transaction.atomic():
        assert [next_number("job"), next_number("job"), next_number("item"), next_number("job")] == [
            1,
            2,
            1,
            3,
        ]

    assert dict(Counter.objects.values_list("kind", "next")) == {"job": 4, "item": 2}


def test_it_gives_a_number_back_when_the_work_is_undone(db: None) -> None:
    class Undone(Exception):
        pass

    def undo() -> None:
        with transaction.atomic():
            next_number("job")
            raise Undone

    with pytest.raises(Undone):
        undo()

    with transaction.atomic():
        assert next_number("job") == 1


def test_it_gives_no_number_outside_a_transaction(transactional_db: None) -> None:
    with pytest.raises(RuntimeError, match="transaction"):
        next_number("job")
