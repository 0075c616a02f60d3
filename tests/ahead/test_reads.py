"""What is known of who will come: clocks, services of the past, jobs that are open and jobs that no clock foretold."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.ahead.reads import needs
from shop.catalogue.actions import issue_plan
from shop.clocks.actions import Past, restart, restart_past, set_going
from shop.gear.models import Item
from shop.workshop.reads import at, noon, today
from tests.conftest import Api, House
from tests.plans import document
from tests.walk import Walk


def served(house: House, item: Item, *days_ago: int, months: int = 12) -> None:
    """Services of long ago, the oldest first."""
    past = [
        Past(item.pk, "overhaul", "Overhaul", months, today() - timedelta(days=n), f"test:{item.pk}:{n}")
        for n in days_ago
    ]
    restart_past(by="test", services=past)


def test_it_works(house: House) -> None:
    """Due in three months; the plan renews one filter, and the prior alone says who comes."""
    served(house, house.item(), 275)

    found, past = needs(today())

    (coming,) = found["TH-301"].coming
    assert (found["TH-301"].waiting, coming.pieces) == (0, 1)
    assert coming.weeks[:30].sum() == pytest.approx(1 - 0.9 * 0.8 * 0.7 * 0.8, abs=0.06)
    assert (past.calls, past.others, past.without_history, past.without_plan) == (1, 0, 0, 0)


def test_a_workshop_without_anything(house: House) -> None:
    found, past = needs(today())

    assert found == {}
    assert (past.calls, past.others, past.weeks) == (0, 0, 4)


def test_what_fell_due_in_one_week_comes_together(house: House) -> None:
    for serial in ("one", "two", "three"):
        served(house, house.item("second_stage", serial), 275)

    found, past = needs(today())

    assert [each.pieces for each in found["TH-401"].coming] == [3]
    assert past.calls == 1


def test_it_learns_from_services(house: House) -> None:
    """Due after a year each time: one came a week late and then not for two years, one came five weeks early."""
    served(house, house.item(serial="late"), 1000, 628)
    served(house, house.item(serial="early"), 900, 570)

    asked = [(span.asked, span.came) for span in needs(today())[1].spans]

    # Four calls: the first two were answered, the last two are 263 and 205 days old without anybody.
    assert asked == [(4, 1), (3, 0), (3, 1), (2, 0), (2, 0), (0, 0)]


def test_whoever_went_elsewhere_did_not_come(house: House) -> None:
    """Due 271 days ago; five days before, others did it."""
    item = house.item()
    served(house, item, 636)
    by, clock, day = house.people["technician"], item.clocks.get(), today() - timedelta(days=276)
    restart(by=by, clock=clock, months=12, day=day, cause="elsewhere:1", elsewhere="Quay Divers")

    _, past = needs(today())

    assert past.calls == 2
    assert past.spans[0].asked >= 1
    assert [span.came for span in past.spans] == [0] * 6


def test_a_job_that_is_open_waits_for_its_parts_and_is_not_expected_again(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api)
    served(house, walk.item, 370)

    found, past = needs(today())

    assert (found["TH-301"].waiting, found["TH-301"].coming, found["TH-301"].others) == (1, (), ())
    assert (past.calls, past.others) == (1, 0)

    walk.to("rebuilding")

    assert needs(today())[0].get("TH-301") is None


def test_a_job_that_is_open_answers_every_clock_of_its_plan(house: House, api: dict[str, Api]) -> None:
    """Also the one that its plan satisfies beside its own: nobody is expected for it."""
    asked = document()
    asked["clock"]["also"] = [{"key": "visual", "title": "Visual inspection", "months": 6}]
    model = house.models["first_stage"]
    house.plans["first_stage"] = issue_plan(by=house.people["lead"], model=model, key="both", document=asked)

    walk = Walk(house, api)

    assert set(walk.item.clocks.values_list("key", flat=True)) == {"overhaul", "visual"}
    past = needs(today())[1]
    assert (past.without_history, past.without_plan) == (0, 0)


def test_a_job_that_no_clock_foretold(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    served(house, walk.item, 20)  # it comes back: its clock would have called in a year

    with at(noon(today() + timedelta(weeks=10))):
        found, past = needs(today())

    (other,) = found["TH-301"].others
    assert (past.others, past.weeks) == (1, 10)
    assert (other.jobs_a_week, other.pieces) == (0.1, 1)

    with at(noon(today() + timedelta(weeks=53))):
        assert needs(today())[1].others == 0


def test_what_is_not_counted(house: House, api: dict[str, Api]) -> None:
    lead, item = house.people["lead"], house.item(serial="new")
    set_going(by=lead, item=item, key="overhaul", title="Overhaul", months=12)
    bare = house.item(serial="bare")
    set_going(by=lead, item=bare, key="x", title="Something else", months=12)
    gone = house.item(serial="gone")
    served(house, gone, 275)
    Item.objects.filter(pk=gone.pk).update(merged_into=item)

    found, past = needs(today())

    assert found == {}
    assert (past.without_history, past.without_plan) == (2, 1)


def test_it_asks_as_often_for_many_as_for_one(house: House, api: dict[str, Api]) -> None:
    served(house, Walk(house, api).item, 370)
    served(house, house.item(serial="a"), 275)
    needs(today())
    with CaptureQueriesContext(
        connection,
    ) as few:
        needs(today())

    served(house, Walk(house, api, "second_stage").item, 370)
    for n in range(5):
        served(house, house.item(serial=f"b{n}"), 700 + n, 300 - 9 * n)
    needs(today())
    with CaptureQueriesContext(connection) as many:
        needs(today())

    assert len(many) == len(few) <= 12
