"""Taking people on, the rules of their passwords, and opening the workshop."""

from io import StringIO
from typing import Any

import pytest
from django.contrib.auth.hashers import check_password
from django.core.management import CommandError, call_command

from shop.staff.models import Person
from shop.staff.rules import Role
from shop.workshop.models import Workshop
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import ok

NEW = {
    "name": "Piet Varga", "email": "piet@aldermouth.example", "password": "an oar across the slip",
    "signing_secret": "pencilled in", "roles": ["technician", "counter"],
}  # fmt: skip


def test_it_works(house: House, api: dict[str, Api]) -> None:
    body = ok(api["lead"].post("people", NEW), 201)

    assert (body["name"], body["roles"]) == ("Piet Varga", ["counter", "technician"])
    assert "password" not in str(body)
    row = Person.objects.get(email="piet@aldermouth.example")
    assert check_password("an oar across the slip", row.password)
    assert check_password("pencilled in", row.signing_secret)


def test_it_takes_a_password_of_fifteen_characters(house: House, api: dict[str, Api]) -> None:
    ok(api["lead"].post("people", NEW | {"password": "fifteen letters"}), 201)


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"password": "fourteen chars"}, ["weak-password"]),
        ({"password": "piet@aldermouth.example"}, ["weak-password"]),
        ({"password": "qwertyuiop"}, ["weak-password", "weak-password"]),
        ({"signing_secret": "an oar across the slip"}, ["secret-is-password"]),
        ({"email": "COUNTER@aldermouth.example"}, ["email-taken"]),
        (
            {"email": "counter@aldermouth.example", "password": "short one", "signing_secret": "short one"},
            ["email-taken", "secret-is-password", "weak-password"],
        ),
    ],
)
def test_it_tells_every_reason(
    house: House, api: dict[str, Api], change: dict[str, str], found: list[str]
) -> None:
    with nothing_changes():
        assert codes(api["lead"].post("people", NEW | change)) == found


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"signing_secret": "seven77"}, "/signing_secret"),
        ({"roles": []}, "/roles"),
        ({"roles": ["captain"]}, "/roles"),
        ({"email": "piet"}, "/email"),
        ({"name": ""}, "/name"),
    ],
)
def test_it_refuses_bad_fields(
    house: House, api: dict[str, Api], change: dict[str, Any], pointer: str
) -> None:
    with nothing_changes():
        assert pointers(api["lead"].post("people", NEW | change)) == [pointer]


def test_it_never_shows_a_refused_password_again(house: House, pages: dict[str, Any]) -> None:
    typed = NEW | {"password": "fourteen chars", "signing_secret": "under the keel"}

    with nothing_changes():
        page = send(pages["lead"], "/office/people/new", typed)

    assert "This password is too short." in said(page)
    assert "Piet Varga" in said(page)
    assert "fourteen chars" not in said(page)
    assert "under the keel" not in said(page)


def test_it_opens_a_workshop_whose_lead_may_sign_in(db: None, client: Any) -> None:
    out = StringIO()

    call_command("open_workshop", "--name", "Skerry Divers", "--currency", "EUR", stdout=out)

    role, email, password, secret = out.getvalue().split()
    assert (role, email) == ("lead", "lead@workshop.example")
    row = Person.objects.get()
    assert set(row.role_list) == set(Role)
    assert check_password(secret, row.signing_secret)
    assert client.post("/sign-in", {"username": email, "password": password}).status_code == 302
    assert str(Workshop.objects.get()) == "Skerry Divers"


def test_it_opens_a_workshop_once(house: House) -> None:
    with nothing_changes(), pytest.raises(CommandError) as refused:
        call_command("open_workshop")

    assert refused.value.returncode == 3


def test_it_opens_no_workshop_in_a_zone_that_is_none(db: None) -> None:
    with nothing_changes(), pytest.raises(Exception, match="There is no time zone named 'Moon'"):
        call_command("open_workshop", "--zone", "Moon")
