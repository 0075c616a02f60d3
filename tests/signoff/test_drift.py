"""Figures of an item over its services: what its closed records state, drawn, and flagged by one rule."""

from datetime import timedelta
from typing import Any

import pytest

from jobs.flow.models import Job
from jobs.signoff.reads import drifting
from shop.catalogue.actions import issue_plan
from shop.workshop.reads import at, now
from tests.conftest import Api, House
from tests.plans import document
from tests.rows import said
from tests.walk import Walk, ok

ALONE: dict[str, Any] = {"second": None, "second_secret": ""}


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A second stage under a plan of one test, on its cracking effort."""
    made = document("second_stage")
    made |= {
        "legs": ["testing"],
        "steps": [],
        "parts": [],
        "second_person": False,
        "tests": made["tests"][:1],
    }
    house.plans["second_stage"] = issue_plan(
        by=house.people["lead"], model=house.models["second_stage"], key="check", document=made
    )
    return begun(Walk(house, api, "second_stage"))


def begun(walk: Walk) -> Walk:
    ok(walk.go_ahead(), 201)
    ok(walk.assign())
    ok(walk.move("cleared", role="counter"))
    ok(walk.move("testing"))
    return walk


def again(walk: Walk) -> Walk:
    """The same item once more from the counter on."""
    line = {
        "item": str(walk.item.uid),
        "plan": str(walk.house.plans["second_stage"].uid),
        "contents": "no gas",
    }
    data = {"customer": str(walk.house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    made = ok(walk.api["counter"].post("drop-offs", data), 201)
    found = walk.other(made["lines"][0]["job"], walk.item)
    found.drop_off = made["uid"]
    return begun(found)


def served(walk: Walk, reading: str) -> None:
    """Tested once, signed off and handed back."""
    ok(walk.reading("cracking", reading, "mbar"), 201)
    ok(walk.sign(**ALONE), 201)
    ok(walk.hand_back(), 201)


def over_a_year(walk: Walk, *readings: str) -> None:
    """One service each half year."""
    start = now()
    served(walk, readings[0])
    for n, reading in enumerate(readings[1:], start=1):
        with at(start + timedelta(days=190 * n)):
            served(again(walk), reading)


def test_it_works(walk: Walk, pages: dict[str, Any]) -> None:
    over_a_year(walk, "3.00", "3.30", "3.60")

    page = said(pages["technician"].get(f"/items/{walk.item.uid}/drift"), 200)

    assert "Still inside, but the line reaches the upper limit before the next service is due." in page
    assert "Effort over 3 services, the newest 3.6 mbar" in page
    assert "A figure is flagged while it is still inside its limit when all of this holds" in page
    panel = said(pages["counter"].get(f"/items/{walk.item.uid}"), 200)
    assert "Look at 1 figure<" in panel
    assert "drifts</span> Cracking effort. Still inside" in panel


def test_it_flags_nothing_that_stands_still(walk: Walk, pages: dict[str, Any]) -> None:
    over_a_year(walk, "3.30", "3.31", "3.30")

    panel = said(pages["technician"].get(f"/items/{walk.item.uid}"), 200)

    assert "Look at 1 figure<" in panel
    assert "drifts" not in panel


def test_it_takes_the_attempt_that_counted_and_its_unit(walk: Walk) -> None:
    made = document("second_stage") | {"legs": ["testing"], "steps": [], "parts": [], "second_person": False}
    made["tests"] = [made["tests"][0] | {"method": "typed reading"}]
    plan = issue_plan(
        by=walk.house.people["lead"], model=walk.house.models["second_stage"], key="read", document=made
    )
    Job.objects.update(plan_version=plan)
    for reading, unit in (("9.00", "mbar"), ("0.31", "kPa")):
        ok(walk.reading("cracking", reading, unit, why="Set anew."), 201)
    ok(walk.sign(**ALONE), 201)

    (series,) = drifting(walk.item)

    (row,) = series.rows
    assert (row.value, row.unit, series.unit, row.verdict) == ("0.31", "kPa", "mbar", "within")
    assert row.point("mbar").value == pytest.approx(3.1)


def test_it_waits_for_the_record_to_be_closed(walk: Walk, pages: dict[str, Any]) -> None:
    ok(walk.reading("cracking", "3.1", "mbar"), 201)
    assert drifting(walk.item) == []
    page = said(pages["technician"].get(f"/items/{walk.item.uid}/drift"), 200)
    assert "No figure stands in a closed record yet." in page

    ok(walk.sign(**ALONE), 201)
    assert len(drifting(walk.item)) == 1

    ok(walk.move("testing", reason="The gauge was doubted.", role="inspector"))
    assert drifting(walk.item) == []


def test_it_takes_one_value_of_a_job_that_was_signed_twice(walk: Walk) -> None:
    ok(walk.reading("cracking", "3.1", "mbar"), 201)
    ok(walk.sign(**ALONE), 201)
    ok(walk.move("testing", reason="The gauge was doubted.", role="inspector"))
    served(walk, "3.4")

    (series,) = drifting(walk.item)

    assert [row.value for row in series.rows] == ["3.4"]
