"""Authorising, trainees, ending an authorisation; and how the bench and the sign-off judge it."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from jobs.worksheet.models import StepDone
from shop.staff.models import Authorisation, Person
from shop.staff.reads import authorisation_for
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok

ANY: dict[str, Any] = {"maker": "", "kind": "", "last_day": None}
TARNWELL = ANY | {"maker": "Tarnwell"}


def authorise(api: dict[str, Api], person: Person, **more: Any) -> Any:
    return api["lead"].post(f"people/{person.uid}/authorisations", TARNWELL | more)


def end(api: dict[str, Api], row: Authorisation, last_day: str | None) -> Any:
    return api["lead"].post(f"authorisations/{row.uid}/end", {"last_day": last_day})


@pytest.fixture
def trainee(house: House, api: dict[str, Api]) -> Person:
    """The technician, now a trainee under the inspector and nothing else."""
    ines = house.people["technician"]
    ok(end(api, ines.authorisations.get(), "2026-01-01"))
    ok(authorise(api, ines, under=str(house.people["inspector"].uid)), 201)
    return Person.objects.get(pk=ines.pk)


def test_it_works(house: House, api: dict[str, Api], trainee: Person) -> None:
    walk = Walk(house, api).to("stripping")

    ok(walk.step("ports"), 201)

    assert StepDone.objects.get().authorisation == (
        "trainee under Marek Dunwell, Tarnwell, any kind of gear, no last day"
    )


def test_it_lets_no_trainee_sign(house: House, api: dict[str, Api], trainee: Person) -> None:
    walk = Walk(house, api).to("testing")
    declined: dict[str, Any] = {
        "outcome": "declined",
        "words": "It goes back as it is.",
        "second": None,
        "second_secret": "",
    }

    with nothing_changes():
        answer = walk.sign(**declined)

    assert sentences(answer) == ["Ines Okafor works under Marek Dunwell, who signs."]


def test_it_lets_no_trainee_be_the_second_person(house: House, api: dict[str, Api], trainee: Person) -> None:
    walk = Walk(house, api).to("testing")
    second = {"second": str(trainee.uid), "second_secret": "signed with a pencil"}

    with nothing_changes():
        answer = walk.sign("inspector", outcome="declined", words="It goes back as it is.", **second)

    assert sentences(answer) == ["Ines Okafor works under Marek Dunwell, who signs."]


@pytest.mark.parametrize("left", [True, False])
def test_it_stops_a_trainee_whose_teacher_is_gone(
    house: House, api: dict[str, Api], trainee: Person, left: bool
) -> None:
    walk, marek = Walk(house, api).to("stripping"), house.people["inspector"]
    if left:
        ok(api["lead"].post(f"people/{marek.uid}/deactivate", seen=1))
    else:
        ok(end(api, marek.authorisations.get(), "2026-01-01"))

    with nothing_changes():
        answer = walk.step("ports")

    assert sentences(answer) == [
        f"Ines Okafor works under Marek Dunwell, who is not authorised for a first stage by Tarnwell on {today()}."
    ]


@pytest.mark.parametrize(
    ("more", "found"),
    [
        ({"maker": "Skerryvane"}, ["teacher-not-authorised"]),
        ({"maker": ""}, ["teacher-not-authorised"]),
        ({"cylinders": True}, ["teacher-not-authorised"]),
        ({"oxygen_clean": True}, ["teacher-not-authorised"]),
        ({"kind": "first_stage"}, []),
    ],
)
def test_it_asks_that_the_teacher_may_do_all_of_it(
    house: House, api: dict[str, Api], more: dict[str, Any], found: list[str]
) -> None:
    under = str(house.people["inspector"].uid)
    if not found:
        ok(authorise(api, house.people["technician"], under=under, **more), 201)
        return

    with nothing_changes():
        assert codes(authorise(api, house.people["technician"], under=under, **more)) == found


def test_it_lets_nobody_teach_themselves_nor_a_trainee_teach(
    house: House, api: dict[str, Api], trainee: Person
) -> None:
    with nothing_changes():
        assert codes(authorise(api, trainee, under=str(trainee.uid))) == ["own-teacher"]
        taught = authorise(api, house.people["storekeeper"], under=str(trainee.uid))
        assert codes(taught) == ["teacher-not-authorised"]


def test_it_asks_for_oxygen_when_the_work_does(house: House, api: dict[str, Api]) -> None:
    ines, model = house.people["technician"], house.models["first_stage"]
    assert [r.code for r in authorisation_for(ines, model, oxygen=True)[1]] == ["no-oxygen-scope"]

    ok(authorise(api, ines, oxygen_clean=True), 201)

    words, refusals = authorisation_for(Person.objects.get(pk=ines.pk), model, oxygen=True)
    assert (words, refusals) == ("Tarnwell, any kind of gear, oxygen-clean work, no last day", [])
    words, _ = authorisation_for(Person.objects.get(pk=ines.pk), model)
    assert words == "Tarnwell, any kind of gear, no last day"


def test_it_ends_today_or_on_a_given_day(house: House, api: dict[str, Api]) -> None:
    row = house.people["technician"].authorisations.get()

    assert ok(end(api, row, "2199-05-31"))["last_day"] == "2199-05-31"
    with nothing_changes():
        assert codes(end(api, row, "2199-05-31")) == ["ends-already"]
        assert codes(end(api, row, "2199-06-01")) == ["ends-already"]
    assert ok(end(api, row, None))["last_day"] == today().isoformat()
    with nothing_changes():
        assert codes(end(api, row, None)) == ["ends-already"]
    yesterday = today() - timedelta(days=1)
    assert ok(end(api, row, yesterday.isoformat()))["last_day"] == yesterday.isoformat()
    assert codes(Walk(house, api).assign()) == ["not-authorised"]


def test_it_is_done_by_page(house: House, pages: dict[str, Client]) -> None:
    suri, marek = house.people["storekeeper"], house.people["inspector"]
    where = f"/office/people/{suri.uid}"
    typed = {"maker": "Tarnwell", "kind": "", "last_day": "", "under": str(marek.uid)}

    assert send(pages["lead"], f"{where}/authorise", typed)["Location"] == where

    row = suri.authorisations.get()
    assert (row.under, row.cylinders, row.last_day) == (marek, False, None)
    page = said(pages["lead"].get(where), 200)
    assert (
        "trainee under <bdi>Marek Dunwell</bdi>: <bdi>Tarnwell</bdi>, any kind of gear, no last day" in page
    )
    ended = send(pages["lead"], f"/office/authorisations/{row.uid}/end", {"last_day": "2026-01-31"})
    assert ended["Location"] == where
    row.refresh_from_db()
    assert row.last_day == date(2026, 1, 31)
    assert "ended 31 Jan 2026" in said(pages["lead"].get(where), 200)
