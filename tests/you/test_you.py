"""The page about yourself: your words, your sessions, and what ends with them."""

from typing import Any

import pytest
from django.test import Client

from shop.staff.actions import make_token
from shop.staff.models import Person
from tests.conftest import PASSWORD, SECRET, Api
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok

NEW = "a lantern on the breakwater"


def entered(agent: str = "Pilot/1") -> Client:
    """The technician, signed in through the page with a browser of that name."""
    client = Client(headers={"User-Agent": agent})
    typed = {"username": "technician@aldermouth.example", "password": PASSWORD}
    assert client.post("/sign-in", typed).status_code == 302
    return client


def test_it_works(people: dict[str, Person]) -> None:
    client = entered()

    page = said(client.get("/you"), 200)

    for words in (
        "Ines Okafor",
        "technician",
        "Tarnwell",
        "no last day",
        "Pilot/1",
        "this one",
        "from 127.0.0.1",
    ):
        assert words in page, words
    assert 'href="/you"' in said(client.get("/bench"), 200)


def test_it_ends_the_other_sessions(people: dict[str, Person]) -> None:
    client, other, untold = entered("Pilot/1"), entered("Gauge/2"), Client()
    untold.force_login(people["technician"])
    assert "Gauge/2" in said(client.get("/you"), 200)

    assert send(client, "/you/sessions/end", {})["Location"] == "/you"

    assert other.get("/bench")["Location"] == "/sign-in?next=/bench"
    assert untold.get("/bench").status_code == 302
    assert client.get("/bench").status_code == 200
    page = said(client.get("/you"), 200)
    assert "Pilot/1" in page
    assert "Gauge/2" not in page


def test_it_ends_every_session_by_api(people: dict[str, Person]) -> None:
    client = entered()
    api = Api(people["technician"])
    (row,) = ok(api.get("you/sessions"))["sessions"]
    assert (row["user_agent"], row["ip"], row["present"]) == ("Pilot/1", "127.0.0.1", False)

    ok(api.post("you/sessions/end"))

    assert client.get("/bench").status_code == 302
    assert ok(api.get("you/sessions"))["sessions"] == []


def test_it_changes_the_password_and_keeps_this_session(people: dict[str, Person]) -> None:
    client, other = entered(), entered()
    _, token = make_token(by=people["technician"], label="logger", scopes=["see"], days=1)

    assert send(client, "/you/password", {"password": PASSWORD, "new_password": NEW})["Location"] == "/you"

    assert client.get("/bench").status_code == 200
    assert other.get("/bench").status_code == 302
    machine = Client(headers={"Authorization": f"Token {token}"})
    assert machine.get("/api/v1/jobs").status_code == 200
    typed = {"username": "technician@aldermouth.example", "password": NEW}
    assert Client().post("/sign-in", typed).status_code == 302


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"password": "a lantern at low water"}, ["wrong-password"]),
        ({"new_password": "fourteen chars"}, ["weak-password"]),
        ({"new_password": SECRET}, ["password-is-secret"]),
        ({"password": "x", "new_password": "short"}, ["wrong-password", "weak-password"]),
    ],
)
def test_it_refuses_a_password_with_every_reason(
    people: dict[str, Person], api: dict[str, Api], change: dict[str, Any], found: list[str]
) -> None:
    with nothing_changes():
        answer = api["technician"].post("you/password", {"password": PASSWORD, "new_password": NEW} | change)

    assert codes(answer) == found


def test_it_changes_the_signing_secret_with_the_password(
    people: dict[str, Person], api: dict[str, Api]
) -> None:
    given = {"password": PASSWORD, "signing_secret": "signed with charcoal"}
    with nothing_changes():
        same = api["technician"].post("you/signing-secret", given | {"signing_secret": PASSWORD})
        assert codes(same) == ["secret-is-password"]
        wrong = api["technician"].post("you/signing-secret", given | {"password": SECRET})
        assert codes(wrong) == ["wrong-password"]

    client = entered()
    assert send(client, "/you/signing-secret", given)["Location"] == "/you"

    row = Person.objects.get(pk=people["technician"].pk)
    assert row.signing_secret != people["technician"].signing_secret
    assert client.get("/bench").status_code == 200


def test_it_needs_more_than_a_token_that_may_see(people: dict[str, Person]) -> None:
    _, token = make_token(by=people["technician"], label="logger", scopes=["see"], days=1)
    machine = Client(headers={"Authorization": f"Token {token}"})

    with nothing_changes():
        for path, given in (
            ("password", {"password": PASSWORD, "new_password": NEW}),
            ("signing-secret", {"password": PASSWORD, "signing_secret": "signed with charcoal"}),
            ("sessions/end", {}),
        ):
            answer = machine.post(f"/api/v1/you/{path}", given, content_type="application/json")
            assert answer.status_code == 403, path
        assert machine.get("/api/v1/you/sessions").status_code == 403
