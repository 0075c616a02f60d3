"""Giving a job to somebody: at the bench, and authorised for the gear on that day."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from shop.staff.actions import add_person, authorise
from shop.staff.models import Authorisation, Person
from shop.workshop.reads import at, now, today
from tests.conftest import PASSWORD, SECRET, Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok


@pytest.fixture
def newcomer(house: House) -> Person:
    """A technician who is authorised for nothing yet."""
    return add_person(
        by=house.people["lead"], name="Piet Varga", email="piet@aldermouth.example", password=PASSWORD,
        signing_secret=SECRET, roles=["technician"],
    )  # fmt: skip


def assign(walk: Walk, person: Person) -> Any:
    data = {"technician": str(person.uid)}
    return walk.api["lead"].post(f"jobs/{walk.job}/assign", data, seen=walk.row.version)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)

    body = ok(walk.assign())

    assert body["technician"] == str(house.people["technician"].uid)
    assert body["version"] == 2


def test_it_refuses_a_technician_without_authorisation(
    house: House, api: dict[str, Api], pages: dict[str, Any], newcomer: Person
) -> None:
    walk = Walk(house, api)
    reason = f"Piet Varga is not authorised for a first stage by Tarnwell on {today()}."

    with nothing_changes():
        assert sentences(assign(walk, newcomer)) == [reason]
        page = send(pages["lead"], f"/jobs/{walk.job}/assign", {"technician": str(newcomer.uid)})

    assert reason in said(page)


def test_it_offers_those_who_are_authorised_and_names_the_others(
    house: House, api: dict[str, Api], pages: dict[str, Any], newcomer: Person
) -> None:
    walk = Walk(house, api)

    page = said(pages["lead"].get(f"/jobs/{walk.job}/assign"), 200)

    assert f'<option value="{house.people["technician"].uid}">' in page
    assert str(newcomer.uid) not in page
    assert f"Tray {walk.row.number}: " in page
    assert "Not authorised for it today: " in page
    assert newcomer.name in page


@pytest.mark.parametrize(
    ("maker", "kind", "fits"),
    [
        ("Tarnwell", "first_stage", True),
        ("", "", True),
        ("", "first_stage", True),
        ("Skerryvane", "", False),
        ("Tarnwell", "second_stage", False),
    ],
)
def test_it_looks_at_maker_and_kind(
    house: House, api: dict[str, Api], newcomer: Person, maker: str, kind: str, fits: bool
) -> None:
    walk = Walk(house, api)
    authorise(by=house.people["lead"], person=newcomer, maker=maker, kind=kind, last_day=None)

    answer = assign(walk, newcomer)

    assert answer.status_code == (200 if fits else 409)


def test_it_holds_an_authorisation_to_and_including_its_last_day(
    house: House, api: dict[str, Api], newcomer: Person
) -> None:
    walk = Walk(house, api)
    authorise(by=house.people["lead"], person=newcomer, maker="Tarnwell", kind="", last_day=date(2031, 6, 30))

    # London keeps summer time on that day: 22:59 UTC is 23:59 there, 23:00 UTC is the next day.
    with at(datetime(2031, 6, 30, 23, 0, tzinfo=UTC)), nothing_changes():
        assert codes(assign(walk, newcomer)) == ["not-authorised"]
    with at(datetime(2031, 6, 30, 22, 59, tzinfo=UTC)):
        ok(assign(walk, newcomer))


def test_it_stops_the_work_when_an_authorisation_runs_out_midway(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    walk.tests()
    Authorisation.objects.filter(person=house.people["technician"]).update(last_day=today())
    tomorrow = now() + timedelta(days=1)

    with at(tomorrow), nothing_changes():
        assert codes(walk.reading("low_supply", "9.42", why="Once more.")) == ["not-authorised"]
        # Once as the one who signs, once as the technician whose job it is.
        assert codes(walk.sign()) == ["not-authorised", "not-authorised"]


def test_it_refuses_somebody_who_does_not_work_at_the_bench(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)

    with nothing_changes():
        answer = assign(walk, house.people["counter"])

    assert codes(answer) == ["not-a-technician", "not-authorised"]


def test_it_does_not_know_somebody_who_has_left(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    Person.objects.filter(pk=house.people["technician"].pk).update(is_active=False)

    with nothing_changes():
        answer = walk.assign()

    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/technician")


def test_it_refuses_to_assign_a_closed_job(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")

    with nothing_changes():
        assert codes(walk.assign("inspector")) == ["job-closed"]
