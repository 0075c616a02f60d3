"""A7: a session's key that somebody knew before signing in is worth nothing afterwards."""

import pytest
from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.test import Client

from shop.staff.models import Person
from tests.conftest import PASSWORD

NAME = settings.SESSION_COOKIE_NAME
GIVEN = {"username": "counter@aldermouth.example", "password": PASSWORD}


def known(kind: str, people: dict[str, Person]) -> str:
    """A key that an attacker puts into somebody's browser."""
    if kind == "made up":
        return "a" * 32
    if kind == "of nobody":
        store = SessionStore()
        store["planted"] = "yes"
        store.create()
        return str(store.session_key)
    client = Client()
    client.force_login(people["storekeeper"])  # the attacker works here too, and has left since
    key = client.cookies[NAME].value
    client.post("/sign-out")
    return key


@pytest.mark.parametrize("kind", ["made up", "of nobody", "of the attacker"])
def test_it_works(people: dict[str, Person], kind: str) -> None:
    key, client = known(kind, people), Client()
    client.cookies[NAME] = key

    assert client.post("/sign-in", GIVEN).status_code == 302

    mine = client.cookies[NAME].value
    assert mine != key
    assert len(mine) == 32
    attacker = Client()
    attacker.cookies[NAME] = key
    assert b"Bryn Castell" not in attacker.get("/you").content
    assert attacker.get("/you").status_code == 302
    assert client.get("/you").status_code == 200


def test_it_gives_a_new_key_each_time(people: dict[str, Person]) -> None:
    client, keys = Client(), set()
    for _ in range(10):
        assert client.post("/sign-in", GIVEN).status_code == 302
        keys.add(client.cookies[NAME].value)
        assert client.post("/sign-out").status_code == 302

    assert len(keys) == 10
    for key in keys:
        old = Client()
        old.cookies[NAME] = key
        assert old.get("/you").status_code == 302
