"""Invitations and forgotten passwords: a link in a letter, good once and for a time, that tells strangers nothing."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any

import pytest
from django.test import Client

from shop.post.models import Letter
from shop.staff.models import Person
from shop.workshop.reads import at, now
from tests.conftest import PASSWORD, SECRET, Api
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok

SELA = {"name": "Sela Brandt", "email": "sela@aldermouth.example", "roles": ["counter", "storekeeper"]}
CHOSEN = {"password": "a lantern on the breakwater", "signing_secret": "signed with charcoal"}
DEAD = "This link no longer works"


def text_of(letter: Letter) -> str:
    return str(message_from_bytes(bytes(letter.body), EmailMessage, policy=default).get_content())


def link(email: str = "sela@aldermouth.example") -> str:
    """The address in the newest letter to somebody, without the house."""
    found = re.search(
        r"^http://127\.0\.0\.1:8710(/\S+)\s*$",
        text_of(Letter.objects.filter(address=email).order_by("-pk")[0]),
        re.M,
    )
    assert found
    return found[1]


def invite(api: dict[str, Api], **more: Any) -> Any:
    return api["lead"].post("invitations", SELA | more)


def sign_in(email: str, password: str) -> int:
    status: int = Client().post("/sign-in", {"username": email, "password": password}).status_code
    return status


@contextmanager
def later(**wait: float) -> Iterator[None]:
    with at(now() + timedelta(**wait)):
        yield


def test_it_works(people: dict[str, Person], api: dict[str, Api]) -> None:
    body = ok(invite(api), 201)
    assert (body["name"], body["roles"]) == ("Sela Brandt", ["counter", "storekeeper"])
    letter = Letter.objects.get()
    assert (letter.purpose, letter.state, letter.subject) == (
        "sign-in", "new", "Your sign-in at Aldermouth Dive Workshop",
    )  # fmt: skip
    browser = Client()
    assert "You sign in as sela@aldermouth.example." in said(browser.get(link()), 200)

    assert send(browser, link(), CHOSEN)["Location"] == "/sign-in"

    assert sign_in("sela@aldermouth.example", CHOSEN["password"]) == 302
    row = Person.objects.get(email="sela@aldermouth.example")
    given = {"password": CHOSEN["password"], "signing_secret": "signed with a feather"}
    ok(Api(row).post("you/signing-secret", given))


def test_it_works_once(people: dict[str, Person], api: dict[str, Api]) -> None:
    invite(api)
    there, browser, other = link(), Client(), Client()
    typed = CHOSEN | {"key": there.partition("key=")[2]}
    assert other.get(there).status_code == 200
    send(browser, there, CHOSEN)

    with nothing_changes():
        assert DEAD in said(browser.get(there), 200)
        page = other.post("/choose-password", typed | {"password": "another lantern, another tide"})

    assert "This link was used, is too old, or was never one of ours" in said(page)
    assert sign_in("sela@aldermouth.example", CHOSEN["password"]) == 302


def test_it_holds_for_seven_days(people: dict[str, Person], api: dict[str, Api]) -> None:
    invite(api)

    with later(days=7, minutes=1), nothing_changes():
        assert DEAD in said(Client().get(link()), 200)
        assert (
            Client().post("/choose-password", CHOSEN | {"key": link().partition("key=")[2]}).status_code
            == 409
        )
    with later(days=6, hours=23):
        assert "You sign in as" in said(Client().get(link()), 200)


def test_it_lets_nobody_in_before(people: dict[str, Person], api: dict[str, Api]) -> None:
    invite(api)

    assert {sign_in("sela@aldermouth.example", each) for each in ("", "!", PASSWORD)} == {400}


def test_it_invites_again_and_the_link_before_dies(people: dict[str, Person], api: dict[str, Api]) -> None:
    uid = ok(invite(api), 201)["uid"]
    before = link()

    ok(api["lead"].post(f"people/{uid}/invitations"), 201)

    assert Letter.objects.count() == 2
    assert DEAD in said(Client().get(before), 200)
    assert "You sign in as" in said(Client().get(link()), 200)


def test_it_invites_nobody_who_has_a_password_or_has_left(
    people: dict[str, Person], api: dict[str, Api]
) -> None:
    uid = ok(invite(api), 201)["uid"]
    there = link()
    ok(api["lead"].post(f"people/{uid}/deactivate", seen=1))

    with nothing_changes():
        assert codes(api["lead"].post(f"people/{uid}/invitations")) == ["left-already"]
        assert codes(api["lead"].post(f"people/{people['counter'].uid}/invitations")) == ["has-password"]
        assert codes(invite(api, email="counter@aldermouth.example")) == ["email-taken"]
    assert DEAD in said(Client().get(there), 200)


@pytest.mark.parametrize("key", ["", "x", "a:b:c", "\0", "é" * 3000, ".eJw:1:2"])
def test_it_refuses_a_link_that_is_none(people: dict[str, Person], key: str) -> None:
    with nothing_changes():
        assert DEAD in said(Client().get("/choose-password", {"key": key}), 200)
        assert Client().post("/choose-password", CHOSEN | {"key": key}).status_code in (400, 409)


@pytest.mark.parametrize(
    ("change", "status", "words"),
    [
        ({"password": "fourteen chars"}, 409, "This password is too short."),
        ({"signing_secret": CHOSEN["password"]}, 409, "The signing secret must differ from the password."),
        ({"signing_secret": ""}, 400, "This field may not be blank."),
    ],
)
def test_it_keeps_the_rules_of_words(
    people: dict[str, Person], api: dict[str, Api], change: dict[str, str], status: int, words: str
) -> None:
    invite(api)
    browser = Client()

    with nothing_changes():
        page = send(browser, link(), CHOSEN | change)

    assert words in said(page, status)
    assert send(browser, link(), CHOSEN).status_code == 302


def test_it_is_done_by_page(people: dict[str, Person], pages: dict[str, Client]) -> None:
    there = send(pages["lead"], "/office/people/invite", SELA)["Location"]

    assert "Invite again" in said(pages["lead"].get(there), 200)
    assert send(pages["lead"], f"{there}/invite", {})["Location"] == there
    assert Letter.objects.count() == 2


def forgotten(email: str) -> Any:
    return Client().post("/forgotten-password", {"email": email})


def test_it_lets_somebody_choose_a_new_password_once(people: dict[str, Person]) -> None:
    counter, signed_in = people["counter"], Client()
    signed_in.force_login(counter)
    assert forgotten("Counter@Aldermouth.example")["Location"] == "/forgotten-password/written"
    there = link("counter@aldermouth.example")
    assert "signing_secret" not in said(Client().get(there), 200)

    assert send(Client(), there, {"password": CHOSEN["password"]})["Location"] == "/sign-in"

    assert DEAD in said(Client().get(there), 200)
    assert sign_in("counter@aldermouth.example", PASSWORD) == 400
    assert sign_in("counter@aldermouth.example", CHOSEN["password"]) == 302
    assert signed_in.get("/counter").status_code == 302
    given = {"password": CHOSEN["password"], "signing_secret": "signed with a feather"}
    ok(Api(Person.objects.get(pk=counter.pk)).post("you/signing-secret", given))


def test_it_says_the_same_whether_somebody_has_the_address_or_not(people: dict[str, Person]) -> None:
    Person.objects.filter(pk=people["storekeeper"].pk).update(is_active=False)
    answers = [forgotten(f"{who}@aldermouth.example") for who in ("counter", "nobody", "storekeeper")]

    assert {(each.status_code, each["Location"], each.content) for each in answers} == {
        (302, "/forgotten-password/written", b"")
    }
    assert [letter.address for letter in Letter.objects.all()] == ["counter@aldermouth.example"]


def test_it_forgets_for_a_day(people: dict[str, Person]) -> None:
    forgotten("counter@aldermouth.example")

    with later(days=1, minutes=1):
        assert DEAD in said(Client().get(link("counter@aldermouth.example")), 200)
    with later(hours=23):
        assert "You sign in as" in said(Client().get(link("counter@aldermouth.example")), 200)


def test_it_writes_three_letters_an_hour_to_one_address(people: dict[str, Person]) -> None:
    found = [forgotten("counter@aldermouth.example").status_code for _ in range(4)]

    assert found == [302, 302, 302, 429]
    assert Letter.objects.count() == 3


def test_it_takes_the_signing_secret_for_no_password(people: dict[str, Person]) -> None:
    forgotten("counter@aldermouth.example")

    with nothing_changes():
        page = send(Client(), link("counter@aldermouth.example"), {"password": SECRET})

    assert "The password must differ from the signing secret." in said(page)


def test_it_shows_the_link_to_nobody_in_the_office(
    people: dict[str, Person], pages: dict[str, Client]
) -> None:
    forgotten("lead@aldermouth.example")
    key = link("lead@aldermouth.example").partition("key=")[2]
    letter = Letter.objects.get()

    page = said(pages["counter"].get(f"/office/letters/{letter.uid}"), 200)

    assert "Only its reader is shown the text of a sign-in letter." in page
    assert key not in page
    assert key not in said(pages["counter"].get("/office/letters"), 200)
