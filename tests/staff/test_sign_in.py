"""Signing in and out, and what ends a session."""

from typing import Any

import pytest
from django.test import Client

from shop.staff.models import Person
from tests.conftest import PASSWORD
from tests.rows import nothing_changes, said

WRONG = "The address and the password do not belong together."


def sign_in(client: Client, email: str = "counter@aldermouth.example", password: str = PASSWORD) -> Any:
    return client.post("/sign-in", {"username": email, "password": password})


def test_it_works(people: dict[str, Person], client: Client) -> None:
    assert b'action="/sign-in"' in client.get("/sign-in").content

    page = sign_in(client)

    assert (page.status_code, page["Location"]) == (302, "/")
    assert client.get("/")["Location"] == "/counter"
    assert client.get("/counter").status_code == 200


@pytest.mark.parametrize(
    ("role", "room"),
    [
        ("counter", "/counter"), ("technician", "/bench"), ("inspector", "/bench"), ("storekeeper", "/store"),
        ("lead", "/office"),
    ],
)  # fmt: skip
def test_it_leads_everybody_to_the_room_they_work_in(pages: dict[str, Client], role: str, room: str) -> None:
    assert pages[role].get("/")["Location"] == room
    assert pages[role].get(room).status_code == 200


def test_it_takes_the_address_in_any_case(people: dict[str, Person], client: Client) -> None:
    assert sign_in(client, " Counter@Aldermouth.Example ").status_code == 302


@pytest.mark.parametrize(
    ("email", "password"),
    [
        ("counter@aldermouth.example", "a lantern at low water"),
        ("counter@aldermouth.example", ""),
        ("counter@aldermouth.example", PASSWORD.upper()),
        ("nobody@aldermouth.example", PASSWORD),
        ("", ""),
        ("not an address", PASSWORD),
        ("counter@aldermouth.example\0", PASSWORD),
        ("x" * 10_000, "y" * 10_000),
    ],
)
def test_it_refuses_with_the_same_words_whatever_is_wrong(
    people: dict[str, Person], client: Client, email: str, password: str
) -> None:
    with nothing_changes():
        page = sign_in(client, email, password)

    assert WRONG in said(page, 400)
    assert client.get("/counter").status_code == 302


def test_it_keeps_the_address_and_never_the_password(people: dict[str, Person], client: Client) -> None:
    page = sign_in(client, password="a lantern at low water")

    assert "counter@aldermouth.example" in said(page, 400)
    assert "low water" not in said(page, 400)


def test_it_goes_on_to_the_page_that_was_asked_for_and_to_no_other_house(
    people: dict[str, Person], client: Client
) -> None:
    assert client.get("/store")["Location"] == "/sign-in?next=/store"

    there = client.post(
        "/sign-in", {"username": "counter@aldermouth.example", "password": PASSWORD, "next": "/store"}
    )
    away = Client().post(
        "/sign-in",
        {
            "username": "counter@aldermouth.example",
            "password": PASSWORD,
            "next": "https://elsewhere.example/",
        },
    )

    assert there["Location"] == "/store"
    assert away["Location"] == "/"


def test_it_signs_out_by_post_only(pages: dict[str, Client]) -> None:
    client = pages["counter"]

    assert client.get("/sign-out").status_code == 405
    assert client.get("/counter").status_code == 200

    assert client.post("/sign-out")["Location"] == "/sign-in"
    assert client.get("/counter").status_code == 302


def test_it_refuses_a_form_from_another_house(people: dict[str, Person]) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(people["counter"])

    with nothing_changes():
        page = client.post("/customers/new", {"kind": "person", "name": "Tomas Ferrier", "once": "k"})

    assert "This page was open too long, or somebody signed in again in another tab." in said(page, 403)


def test_it_refuses_an_api_change_by_session_from_another_house(people: dict[str, Person]) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(people["counter"])
    data = {"kind": "person", "name": "Tomas Ferrier"}

    with nothing_changes():
        answer = client.post(
            "/api/v1/customers", data, content_type="application/json", headers={"Idempotency-Key": '"k"'}
        )

    assert (answer.status_code, answer["Content-Type"]) == (403, "application/problem+json")


def test_it_ends_a_session_when_its_person_leaves(
    people: dict[str, Person], pages: dict[str, Client]
) -> None:
    assert pages["counter"].get("/counter").status_code == 200

    Person.objects.filter(pk=people["counter"].pk).update(is_active=False)

    assert pages["counter"].get("/counter").status_code == 302
    assert sign_in(Client()).status_code == 400


def test_it_ends_a_session_when_its_password_changes(
    people: dict[str, Person], pages: dict[str, Client]
) -> None:
    person = people["counter"]
    person.set_password("another lantern, another tide")
    person.save()

    assert pages["counter"].get("/counter").status_code == 302


def test_it_keeps_passwords_and_secrets_as_hashes_only(people: dict[str, Person]) -> None:
    row = Person.objects.get(pk=people["counter"].pk)

    for kept in (row.password, row.signing_secret):
        assert kept.count("$") >= 2
        assert "lantern" not in kept
        assert "pencil" not in kept
