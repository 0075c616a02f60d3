"""A second factor: set up behind one's password, asked at sign-in, each code once, recovery codes once each."""

import re
import time
from typing import Any

import pytest
from django.test import Client

from shop.journal.models import Entry
from shop.post.models import Letter
from shop.staff.actions import make_token
from shop.staff.models import Person
from tests.conftest import PASSWORD
from tests.published.test_totp_rfc6238 import totp_of
from tests.rows import nothing_changes, said

EMAIL = "counter@aldermouth.example"


def sign_in(client: Client, **more: str) -> Any:
    return client.post("/sign-in", {"username": EMAIL, "password": PASSWORD} | more)


def confirmed(client: Client) -> None:
    """Type the password once more, as the pages ask."""
    assert client.get("/you/second-factor")["Location"] == "/you/confirm?next=%2Fyou%2Fsecond-factor"
    there = client.post("/you/confirm", {"password": PASSWORD, "next": "/you/second-factor"})
    assert there["Location"] == "/you/second-factor"


def in_one_step() -> None:
    """Wait until the present 30 seconds have long enough to go."""
    if (left := 30 - time.time() % 30) < 6:
        time.sleep(left)


def secret_on(page: Any) -> str:
    found = re.search(r"<code>([A-Z2-7]{32})</code>", said(page, 200))
    assert found
    return found[1]


@pytest.fixture
def secret(people: dict[str, Person], client: Client) -> str:
    """The counter hand, signed in with `client`, has a second factor; the code that set it up is long past."""
    assert sign_in(client).status_code == 302
    confirmed(client)
    secret = secret_on(client.get("/you/second-factor"))
    in_one_step()
    done = client.post("/you/second-factor", {"code": totp_of(secret)})
    assert done["Location"] == "/you/recovery-codes"
    return secret


def codes_of(client: Client) -> list[str]:
    return re.findall(r"<code>(\d{8})</code>", said(client.get("/you/recovery-codes"), 200))


def half_in() -> Client:
    """Somebody who has given the right password and no code."""
    client = Client()
    assert sign_in(client)["Location"] == "/sign-in/code"
    return client


def test_it_works(secret: str) -> None:
    client = half_in()
    before = client.session.session_key
    assert client.get("/counter").status_code == 302

    in_one_step()
    assert client.post("/sign-in/code", {"code": totp_of(secret)})["Location"] == "/"

    assert client.get("/counter").status_code == 200
    assert client.session.session_key != before


def test_it_refuses_a_code_that_was_used(secret: str) -> None:
    in_one_step()
    code = totp_of(secret)
    assert half_in().post("/sign-in/code", {"code": code}).status_code == 302

    again = half_in()
    page = again.post("/sign-in/code", {"code": code})

    assert "Incorrect code." in said(page, 400)
    assert again.get("/counter").status_code == 302


@pytest.mark.parametrize("wrong", ["", "000000", "12345", "½½½½½½", "0\0", "9" * 5000])
def test_it_refuses_a_wrong_code(secret: str, wrong: str) -> None:
    client = half_in()

    assert client.post("/sign-in/code", {"code": wrong}).status_code == 400

    assert client.get("/counter").status_code == 302


def test_it_takes_no_code_of_a_minute_ago(secret: str) -> None:
    assert half_in().post("/sign-in/code", {"code": totp_of(secret, ago=60)}).status_code == 400


def test_it_stops_guessing(secret: str) -> None:
    client = half_in()
    in_one_step()
    for guess in range(5):
        assert client.post("/sign-in/code", {"code": f"00000{guess}"}).status_code == 400

    page = client.post("/sign-in/code", {"code": totp_of(secret)})

    assert "Too many failed login attempts." in said(page, 400)
    assert client.get("/counter").status_code == 302


def test_it_takes_a_recovery_code_once(secret: str, client: Client) -> None:
    codes = codes_of(client)
    assert len(set(codes)) == 10

    assert half_in().post("/sign-in/code", {"code": codes[3]})["Location"] == "/"

    assert half_in().post("/sign-in/code", {"code": codes[3]}).status_code == 400
    assert codes_of(client) == [*codes[:3], *codes[4:]]
    assert half_in().post("/sign-in/code", {"code": codes[4]})["Location"] == "/"
    assert "8 left" in said(client.get("/you"), 200)


def test_it_makes_new_recovery_codes(secret: str, client: Client) -> None:
    old = codes_of(client)

    assert client.post("/you/recovery-codes/new")["Location"] == "/you/recovery-codes"

    assert not set(codes_of(client)) & set(old)
    assert half_in().post("/sign-in/code", {"code": old[0]}).status_code == 400


def test_it_asks_for_the_password_before_anything_is_changed(secret: str) -> None:
    client = half_in()
    in_one_step()
    client.post("/sign-in/code", {"code": totp_of(secret)})

    for path in ("/you/recovery-codes", "/you/recovery-codes/new", "/you/second-factor/off"):
        assert client.get(path)["Location"].startswith("/you/confirm?next="), path
    with nothing_changes():
        for path in ("/you/recovery-codes/new", "/you/second-factor/off"):
            assert client.post(path)["Location"].startswith("/you/confirm?next="), path
        wrong = client.post("/you/confirm", {"password": "a lantern at low water"})
    assert "Incorrect password." in said(wrong, 400)


def test_it_is_taken_off_again(secret: str, client: Client) -> None:
    assert client.post("/you/second-factor/off")["Location"] == "/you"

    assert sign_in(Client())["Location"] == "/"
    assert client.get("/you/recovery-codes")["Location"] == "/you"
    assert "Off: your password alone signs you in." in said(client.get("/you"), 200)


def test_it_writes_to_its_person_and_into_the_journal(
    secret: str, client: Client, people: dict[str, Person], django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        client.post("/you/recovery-codes/new")
    client.post("/you/second-factor/off")

    who = f"person:{people['counter'].uid}"
    entries = Entry.objects.filter(subject=who).order_by("-n")[:2]
    assert [entry.verb for entry in entries] == ["second factor off", "recovery codes made"]
    made, off = Letter.objects.filter(recipient=who).order_by("pk")
    assert (made.address, made.purpose, off.purpose) == (EMAIL, "sign-in", "sign-in")
    assert b"New recovery codes were made for you" in bytes(made.body)
    assert b"no code is asked for any more" in bytes(off.body)


def test_it_draws_the_secret_as_lines_in_the_page(people: dict[str, Person], client: Client) -> None:
    sign_in(client)
    confirmed(client)

    page = said(client.get("/you/second-factor"), 200)

    assert "<svg" in page
    assert "data:" not in page
    assert "style=" not in page


def test_it_is_not_asked_of_tokens(secret: str, people: dict[str, Person]) -> None:
    _, text = make_token(by=people["counter"], label="till", scopes=["see"], days=1)

    assert Client(headers={"Authorization": f"Token {text}"}).get("/api/v1/customers").status_code == 200


def test_it_lets_somebody_start_again(secret: str) -> None:
    client = half_in()

    assert client.post("/sign-out")["Location"] == "/sign-in"

    assert client.get("/sign-in").status_code == 200
