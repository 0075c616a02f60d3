"""How often somebody may try: at sign-in, with a signing secret, with one's own password."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from shop.staff.models import Person, WrongTry
from shop.workshop.reads import at, now
from tests.conftest import PASSWORD, SECRET, Api, House
from tests.rows import codes, said, sentences
from tests.walk import Walk, ok

MANY = "Too many wrong tries. Wait a quarter of an hour, then try again."


def sign_in(client: Client, password: str, email: str = "counter@aldermouth.example") -> Any:
    return client.post("/sign-in", {"username": email, "password": password})


def test_it_works(people: dict[str, Person], client: Client) -> None:
    for _ in range(5):
        assert sign_in(client, "a lantern at low water").status_code == 400

    assert MANY in said(sign_in(client, PASSWORD), 429)
    assert client.get("/counter").status_code == 302
    assert sign_in(Client(), PASSWORD, "lead@aldermouth.example").status_code == 302


def test_it_counts_an_address_that_nobody_has_in_the_same_way(
    people: dict[str, Person], client: Client
) -> None:
    for _ in range(5):
        assert sign_in(client, "x", "nobody@aldermouth.example").status_code == 400

    assert MANY in said(sign_in(client, "x", "nobody@aldermouth.example"), 429)


def test_it_limits_a_machine_that_tries_many_addresses(people: dict[str, Person], client: Client) -> None:
    found = [sign_in(client, "x", f"n{n}@aldermouth.example").status_code for n in range(12)]

    assert found == [400] * 10 + [429] * 2


def test_it_does_not_count_who_gets_it_right(people: dict[str, Person]) -> None:
    assert [sign_in(Client(), PASSWORD).status_code for _ in range(12)] == [302] * 12


def test_it_answers_a_flood_with_a_page(people: dict[str, Person], client: Client) -> None:
    found = [client.post("/sign-in", {"username": "", "password": ""}) for _ in range(31)]

    assert [page.status_code for page in found] == [400] * 30 + [429]
    assert "Wait a few minutes, then try again." in said(found[-1], 429)


@pytest.fixture
def tested(house: House, api: dict[str, Api]) -> Walk:
    return Walk(house, api).to("testing")


def declined(walk: Walk, **more: Any) -> Any:
    given: dict[str, Any] = {
        "outcome": "declined",
        "words": "It goes back.",
        "second": None,
        "second_secret": "",
    }
    return walk.sign(**(given | more))


def test_it_stops_guessing_a_signing_secret(tested: Walk) -> None:
    for _ in range(10):
        assert codes(declined(tested, secret="not this one")) == ["wrong-secret"]
    assert WrongTry.objects.count() == 10

    assert sentences(declined(tested, secret=SECRET)) == [
        "Too many wrong passwords and signing secrets of Ines Okafor. Wait a quarter of an hour."
    ]

    assert WrongTry.objects.count() == 10
    with at(now() + timedelta(minutes=16)):
        ok(declined(tested, secret=SECRET), 201)


def test_it_counts_the_second_person_apart(tested: Walk) -> None:
    second = {"second": str(tested.house.people["inspector"].uid), "second_secret": "not this one"}
    for _ in range(10):
        assert codes(declined(tested, **second)) == ["wrong-secret"]

    assert codes(declined(tested, **second | {"second_secret": SECRET})) == ["too-many-tries"]
    ok(declined(tested), 201)


def test_it_counts_by_page_too(tested: Walk, pages: dict[str, Client]) -> None:
    typed = {"outcome": "declined", "words": "x", "secret": "not this one", "seen": tested.row.version}

    page = pages["technician"].post(f"/jobs/{tested.job}/sign-off", typed | {"once": "k"})

    assert "That is not the signing secret of Ines Okafor." in said(page)
    assert WrongTry.objects.get().person == tested.house.people["technician"]


def test_it_stops_guessing_ones_own_password(people: dict[str, Person], api: dict[str, Api]) -> None:
    given = {"password": "not this one at all", "signing_secret": "signed with charcoal"}
    for _ in range(10):
        assert codes(api["counter"].post("you/signing-secret", given)) == ["wrong-password"]

    assert codes(api["counter"].post("you/signing-secret", given | {"password": PASSWORD})) == [
        "too-many-tries"
    ]
