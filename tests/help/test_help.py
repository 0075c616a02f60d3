"""Help for each room, and the first five steps of each role."""

import html
import re
from typing import Any

import pytest
from django.test import Client

from shop.staff.models import Person
from tests.rows import said, send

ROLES = ["counter", "technician", "inspector", "storekeeper", "lead"]
ROOMS = ["counter", "bench", "store", "office"]


def inside(person: Person) -> Client:
    """Somebody who is signed in."""
    client = Client()
    client.force_login(person)
    return client


def links(page: str, part: str) -> list[str]:
    """The addresses that a list of a page, or all of it, leads to."""
    found = re.search(rf"<{part}\b.*</{part}>", page, re.DOTALL)
    assert found is not None
    return [html.unescape(each) for each in re.findall(r'<a[^>]* href="([^"]+)"', found[0])]


def test_it_works(people: dict[str, Person]) -> None:
    client = inside(people["counter"])
    assert "/help/first-steps" in links(said(client.get("/counter"), 200), "main")

    page = said(client.get("/help/first-steps"), 200)
    assert "As counter" in page
    assert "As lead" not in page
    assert send(client, "/help/first-steps", {})["Location"] == "/"

    assert "Five steps show you round" not in said(client.get("/counter"), 200)
    assert "Put this away" not in said(client.get("/help/first-steps"), 200)
    assert "/help/first-steps" in links(said(client.get("/you"), 200), "main")


@pytest.mark.parametrize("role", ROLES)
def test_it_leads_each_role_along_five_pages_that_are_there(role: str, people: dict[str, Person]) -> None:
    client = inside(people[role])

    steps = links(said(client.get("/help/first-steps"), 200), "ol")

    assert len(steps) == 5
    assert [client.get(each).status_code for each in steps] == [200] * 5


@pytest.mark.parametrize("room", ROOMS)
def test_it_helps_in_each_room_by_links_that_everybody_may_follow(
    room: str, people: dict[str, Person]
) -> None:
    client = inside(people["storekeeper"])
    assert links(said(client.get(f"/{room}"), 200), "footer") == [f"/help/{room}"]

    page = said(client.get(f"/help/{room}"), 200)

    assert "does not make gear safe" in page
    found = links(page, "main")
    assert {each: client.get(each).status_code for each in found} == dict.fromkeys(found, 200)


def test_it_offers_the_first_steps_at_the_doors_only_and_to_each_until_they_put_them_away(
    people: dict[str, Person],
) -> None:
    offered = "Five steps show you round"
    technician = inside(people["technician"])
    send(inside(people["lead"]), "/help/first-steps", {})
    first = Person.objects.get(pk=people["lead"].pk).tour_put_away_at

    assert [offered in said(technician.get(f"/{room}"), 200) for room in ROOMS] == [True] * 4
    assert offered not in said(technician.get("/office/people"), 200)
    send(inside(people["lead"]), "/help/first-steps", {})

    assert first is not None
    assert Person.objects.get(pk=people["lead"].pk).tour_put_away_at == first


def test_it_offers_nothing_to_a_stranger(db: Any) -> None:
    stranger = Person.objects.create(email="stranger@aldermouth.example", name="Nobody's hand")
    client = inside(stranger)

    assert "Five steps show you round" not in said(client.get("/office"), 403)
    assert client.get("/help/bench").status_code == 403
    assert client.post("/help/first-steps").status_code == 403
