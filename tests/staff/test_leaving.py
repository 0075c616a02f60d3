"""Changing roles, leaving and coming back; what ends with it at once."""

from typing import Any

import pytest
from django.test import Client
from rest_framework.test import APIClient

from shop.journal.models import Entry
from shop.staff.actions import add_person, make_token
from shop.staff.models import Person
from tests.conftest import PASSWORD, SECRET, Api
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok


def fresh(people: dict[str, Person], role: str) -> Person:
    return Person.objects.get(pk=people[role].pk)


def bearing(person: Person) -> APIClient:
    """A client that sends a token of somebody and nothing else."""
    _, secret = make_token(by=person, label="till", scopes=["see"], days=30)
    return APIClient(headers={"Authorization": f"Token {secret}"})


def deactivate(api: dict[str, Api], person: Person, by: str = "lead", seen: int = 1) -> Any:
    return api[by].post(f"people/{person.uid}/deactivate", seen=seen)


def second_lead(people: dict[str, Person]) -> Person:
    return add_person(
        by=people["lead"], name="Wren Ashdown", email="wren@aldermouth.example", password=PASSWORD,
        signing_secret=SECRET, roles=["lead"],
    )  # fmt: skip


def test_it_works(people: dict[str, Person], api: dict[str, Api]) -> None:
    counter = people["counter"]
    page, browser, machine = Client(), Client(), bearing(counter)
    for client in (page, browser):
        client.force_login(counter)
    assert page.get("/counter").status_code == 200
    assert browser.get("/api/v1/customers").status_code == machine.get("/api/v1/customers").status_code == 200

    body = ok(deactivate(api, counter))

    assert (body["is_active"], body["version"]) == (False, 2)
    assert page.get("/counter")["Location"] == "/sign-in?next=/counter"
    assert browser.get("/api/v1/customers").status_code == 401
    assert machine.get("/api/v1/customers").status_code == 401
    assert Entry.objects.filter(subject=f"person:{counter.uid}").order_by("-n")[0].verb == "left"


def test_it_lets_nothing_that_ended_live_again(people: dict[str, Person], api: dict[str, Api]) -> None:
    counter, client = people["counter"], Client()
    machine = bearing(counter)
    client.force_login(counter)
    ok(deactivate(api, counter))

    body = ok(api["lead"].post(f"people/{counter.uid}/reactivate", seen=2))

    assert (body["is_active"], body["roles"], body["version"]) == (True, ["counter"], 3)
    assert client.get("/counter").status_code == 302
    assert machine.get("/api/v1/customers").status_code == 401
    anew = Client()
    anew.force_login(fresh(people, "counter"))
    assert anew.get("/counter").status_code == 200
    assert bearing(fresh(people, "counter")).get("/api/v1/customers").status_code == 200


def test_it_keeps_the_last_lead(people: dict[str, Person], api: dict[str, Api]) -> None:
    lead = people["lead"]

    with nothing_changes():
        assert codes(deactivate(api, lead)) == ["self", "last-lead"]
        assert codes(api["lead"].post(f"people/{lead.uid}/roles", {"roles": ["counter"]}, seen=1)) == [
            "last-lead"
        ]

    wren = second_lead(people)
    with nothing_changes():
        assert codes(deactivate(api, lead)) == ["self"]
    ok(Api(wren).post(f"people/{lead.uid}/deactivate", seen=1))
    with nothing_changes():
        assert codes(Api(wren).post(f"people/{wren.uid}/roles", {"roles": ["counter"]}, seen=1)) == [
            "last-lead"
        ]


def test_it_lets_a_lead_hand_over(people: dict[str, Person], api: dict[str, Api]) -> None:
    second_lead(people)

    body = ok(api["lead"].post(f"people/{people['lead'].uid}/roles", {"roles": ["counter"]}, seen=1))

    assert body["roles"] == ["counter"]
    assert fresh(people, "lead").role_list == ["counter"]


def test_it_gives_several_roles_and_takes_the_others(people: dict[str, Person], api: dict[str, Api]) -> None:
    uid = people["technician"].uid

    body = ok(api["lead"].post(f"people/{uid}/roles", {"roles": ["storekeeper", "counter"]}, seen=1))

    assert (body["roles"], body["version"]) == (["counter", "storekeeper"], 2)
    assert ok(api["counter"].get(f"people/{uid}"))["roles"] == ["counter", "storekeeper"]
    page = Client()
    page.force_login(fresh(people, "technician"))
    assert page.get("/")["Location"] == "/counter"


@pytest.mark.parametrize("verb", ["deactivate", "reactivate", "roles"])
def test_it_refuses_what_somebody_saw_too_long_ago(
    people: dict[str, Person], api: dict[str, Api], verb: str
) -> None:
    uid = people["technician"].uid
    data = {"roles": ["counter"]} if verb == "roles" else {}

    with nothing_changes():
        assert api["lead"].post(f"people/{uid}/{verb}", data, seen=9).status_code == 412
        assert api["lead"].post(f"people/{uid}/{verb}", data).status_code == 428


def test_it_does_each_once(people: dict[str, Person], api: dict[str, Api]) -> None:
    counter = people["counter"]
    with nothing_changes():
        assert codes(api["lead"].post(f"people/{counter.uid}/reactivate", seen=1)) == ["here-already"]
    ok(deactivate(api, counter))

    with nothing_changes():
        assert codes(deactivate(api, counter, seen=2)) == ["left-already"]


def test_it_lets_no_token_give_more_than_itself(people: dict[str, Person]) -> None:
    _, secret = make_token(by=people["lead"], label="x", scopes=["see", "keep people"], days=1)
    client = APIClient(headers={"Authorization": f"Token {secret}", "If-Match": '"1"'})
    path = f"/api/v1/people/{people['counter'].uid}/roles"

    with nothing_changes():
        answer = client.post(path, {"roles": ["counter", "lead"]}, format="json")

    assert codes(answer) == ["beyond-token"]


def test_it_is_done_by_page(people: dict[str, Person], pages: dict[str, Client]) -> None:
    where = f"/office/people/{people['counter'].uid}"

    assert send(pages["lead"], f"{where}/roles", {"roles": ["storekeeper", "counter"]})["Location"] == where
    assert "counter, storekeeper" in said(pages["lead"].get(where), 200)
    assert send(pages["lead"], f"{where}/deactivate", {})["Location"] == where
    assert "no longer here" in said(pages["lead"].get(where), 200)
    assert pages["counter"].get("/counter").status_code == 302
    assert send(pages["lead"], f"{where}/reactivate", {})["Location"] == where
    assert "no longer here" not in said(pages["lead"].get(where), 200)


def test_it_says_what_stands_when_somebody_was_faster(
    people: dict[str, Person], api: dict[str, Api], pages: dict[str, Client]
) -> None:
    where = f"/office/people/{people['counter'].uid}/roles"
    ok(api["lead"].post(f"people/{people['counter'].uid}/roles", {"roles": ["storekeeper"]}, seen=1))

    page = pages["lead"].post(where, {"roles": ["inspector"], "seen": 1, "once": "k"})

    assert "In the record now: storekeeper." in said(page, 412)
