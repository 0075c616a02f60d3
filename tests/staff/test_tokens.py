"""Tokens: hashed, narrowed, ending, and one's own only."""

from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone
from rest_framework.test import APIClient

from shop.staff.actions import make_token
from shop.staff.models import Person, Token
from shop.staff.rules import Can
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok

CUSTOMER = {"kind": "person", "name": "Tomas Ferrier"}


def bearing(secret: str) -> APIClient:
    """A client that sends a token and nothing else."""
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {secret}")
    return client


def post(client: APIClient) -> Any:
    return client.post("/api/v1/customers", CUSTOMER, headers={"Idempotency-Key": '"k"'}, format="json")


def test_it_works(house: House, api: dict[str, Api]) -> None:
    made = ok(
        api["counter"].post("tokens", {"label": "till", "scopes": ["see", "keep customers"], "days": 30})
    )

    client = bearing(made["secret"])

    assert client.get("/api/v1/customers").status_code == 200
    assert post(client).status_code == 201


def test_it_keeps_a_token_as_a_hash_only(house: House, api: dict[str, Api]) -> None:
    made = ok(api["counter"].post("tokens", {"label": "till", "scopes": ["see"], "days": 30}))

    (row,) = Token.objects.all()

    assert made["secret"] not in str(Token.objects.values())
    assert len(made["secret"]) >= 64
    assert row.digest != made["secret"]
    assert "secret" not in ok(api["counter"].get("tokens"))["results"][0]


def test_it_narrows_its_person(house: House) -> None:
    _, secret = make_token(by=house.people["counter"], label="reader", scopes=["see"], days=1)
    client = bearing(secret)

    assert client.get("/api/v1/customers").status_code == 200
    with nothing_changes():
        answer = post(client)
    assert codes(answer, 403) == []
    assert answer.json()["detail"] == "This token lacks the scope: make one that may keep customers."


def test_it_never_widens_its_person(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    everything = {"label": "all", "scopes": [str(c) for c in Can], "days": 1}

    with nothing_changes():
        assert codes(api["storekeeper"].post("tokens", everything)) == ["beyond-you"]
        refused = send(pages["storekeeper"], "/tokens", everything | {"scopes": ["sign off"]})
    assert "A token may do no more than you, who may not sign off." in said(refused)
    assert "sign off" not in said(pages["storekeeper"].get("/tokens"), 200)


def test_it_loses_a_right_with_its_person(house: House) -> None:
    storekeeper = house.people["storekeeper"]
    row, secret = make_token(by=storekeeper, label="all", scopes=["see"], days=1)
    Token.objects.filter(pk=row.pk).update(scopes=[str(c) for c in Can])

    with nothing_changes():
        answer = post(bearing(secret))
    assert codes(answer, 403) == []
    assert answer.json()["detail"] == "You do not have the right to keep customers."


def test_it_cannot_make_another_token_with_more_rights(house: House) -> None:
    narrow = make_token(by=house.people["counter"], label="reader", scopes=["see"], days=1)[1]
    wanted = {"label": "more", "scopes": [str(c) for c in Can], "days": 30}

    with nothing_changes():
        assert bearing(narrow).post("/api/v1/tokens", wanted, format="json").status_code == 403


def test_it_makes_no_token_that_may_do_more_than_itself(house: House) -> None:
    both = make_token(by=house.people["counter"], label="x", scopes=["see", "keep own tokens"], days=1)[1]
    wanted = {"label": "more", "scopes": ["see", "keep customers"], "days": 30}

    with nothing_changes():
        answer = bearing(both).post("/api/v1/tokens", wanted, format="json")

    assert codes(answer) == ["beyond-token"]


@pytest.mark.parametrize(
    "header", ["Token nonsense", "Token ", "Token a b", "Bearer x", "Token \u00e9", "Token " + "f" * 9000]
)
def test_it_answers_401_to_what_is_no_token(house: House, header: str) -> None:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=header)

    answer = client.get("/api/v1/customers")

    assert codes(answer, 401) == []
    assert answer["WWW-Authenticate"] == "Token"


def test_it_ends_at_once_and_through_both_doors(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    counter = house.people["counter"]
    first, one = make_token(by=counter, label="a", scopes=["see"], days=1)
    second, other = make_token(by=counter, label="b", scopes=["see"], days=1)

    ok(api["counter"].post(f"tokens/{first.uid}/end"))
    send(pages["counter"], f"/tokens/{second.uid}/end", {})

    assert bearing(one).get("/api/v1/customers").status_code == 401
    assert bearing(other).get("/api/v1/customers").status_code == 401


def test_it_ends_on_its_last_instant(house: House) -> None:
    row, secret = make_token(by=house.people["counter"], label="a", scopes=["see"], days=1)
    Token.objects.filter(pk=row.pk).update(expiry=timezone.now() - timedelta(seconds=1))

    assert bearing(secret).get("/api/v1/customers").status_code == 401


def test_it_dies_with_its_person(house: House) -> None:
    _, secret = make_token(by=house.people["counter"], label="a", scopes=["see"], days=1)
    Person.objects.filter(pk=house.people["counter"].pk).update(is_active=False)

    assert bearing(secret).get("/api/v1/customers").status_code == 401


def test_it_finds_no_token_of_somebody_else(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    row, secret = make_token(by=house.people["counter"], label="a", scopes=["see"], days=1)

    with nothing_changes():
        assert codes(api["lead"].post(f"tokens/{row.uid}/end"), 404) == []
        assert pages["lead"].post(f"/tokens/{row.uid}/end", {"once": "k"}).status_code == 404

    assert ok(api["lead"].get("tokens"))["results"] == []
    assert bearing(secret).get("/api/v1/customers").status_code == 200


def test_it_shows_the_secret_of_a_new_one_on_the_page_once(house: House, pages: dict[str, Any]) -> None:
    several = 'type="checkbox" name="scopes" value="keep customers"'
    assert several in said(pages["counter"].get("/tokens"), 200)
    given = {"label": "till", "scopes": ["see", "keep customers"], "days": "30"}
    page = send(pages["counter"], "/tokens", given)

    secret = page.context["secret"]
    assert secret in said(page, 200)
    assert bearing(secret).get("/api/v1/customers").status_code == 200
    assert post(bearing(secret)).status_code == 201
    assert secret not in said(pages["counter"].get("/tokens"), 200)


@pytest.mark.parametrize(
    "data", [{"days": 0}, {"days": 367}, {"scopes": []}, {"scopes": ["fly"]}, {"label": ""}]
)
def test_it_refuses_a_token_without_end_or_scope(
    house: House, api: dict[str, Api], data: dict[str, Any]
) -> None:
    with nothing_changes():
        assert (
            api["counter"].post("tokens", {"label": "a", "scopes": ["see"], "days": 1} | data).status_code
            == 400
        )


def test_it_makes_one_by_command_with_all_rights_of_its_person(house: House) -> None:
    out = StringIO()

    call_command("make_token", "counter@aldermouth.example", "--days", "2", stdout=out)

    client = bearing(out.getvalue().strip())
    assert post(client).status_code == 201
    assert client.get("/api/v1/letters").status_code == 200


def test_it_makes_none_by_command_for_nobody(house: House) -> None:
    with nothing_changes(), pytest.raises(CommandError, match="Nobody signs in"):
        call_command("make_token", "nobody@aldermouth.example")
