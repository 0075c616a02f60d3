"""A token reaches no further than itself: not by another token, a role, or an answer that was kept."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from shop.staff.actions import make_token
from shop.staff.models import Person, Token
from shop.staff.rules import RIGHTS, Role
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes
from tests.staff.test_tokens import CUSTOMER, bearing, post
from tests.walk import ok


def token(person: Person, *scopes: str, days: int = 2) -> APIClient:
    """A client with a fresh token of somebody."""
    return bearing(make_token(by=person, label="x", scopes=list(scopes), days=days)[1])


def test_it_works(house: House) -> None:
    client = token(house.people["counter"], "see", "keep own tokens", days=2)
    wanted = {"label": "more", "scopes": ["see"]}

    with nothing_changes():
        answer = client.post("/api/v1/tokens", wanted | {"days": 3}, format="json")
    assert codes(answer) == ["beyond-token"]
    assert answer.json()["errors"][0]["pointer"] == "/days"

    ok(client.post("/api/v1/tokens", wanted | {"days": 1}, format="json"))
    assert max(Token.objects.values_list("expiry", flat=True)) <= timezone.now() + timedelta(days=2)


NEW = {
    "name": "Piet Varga", "email": "piet@aldermouth.example", "password": "an oar across the slip",
    "signing_secret": "pencilled in",
}  # fmt: skip


def take_on(client: APIClient, *roles: str) -> Any:
    headers = {"Idempotency-Key": '"k"'}
    return client.post("/api/v1/people", NEW | {"roles": list(roles)}, headers=headers, format="json")


@pytest.mark.parametrize("role", list(Role))
def test_it_gives_nobody_a_role_that_may_do_more_than_itself(house: House, role: Role) -> None:
    client = token(house.people["lead"], "see", "keep people")

    with nothing_changes():
        answer = take_on(client, role)

    assert codes(answer) == ["beyond-token"]
    said_so = f"This token cannot give the role {role}: it may do less than that."
    assert answer.json()["errors"] == [{"code": "beyond-token", "detail": said_so, "pointer": "/roles"}]


def test_it_names_the_roles_that_it_cannot_give_and_no_other(house: House) -> None:
    client = token(house.people["lead"], "keep people", *RIGHTS[Role.STOREKEEPER])

    with nothing_changes():
        answer = take_on(client, "storekeeper", "lead", "counter")

    assert answer.json()["errors"][0]["detail"].startswith("This token cannot give the role counter, lead:")


def test_it_gives_a_role_that_may_do_no_more_than_itself(house: House) -> None:
    client = token(house.people["lead"], "keep people", *RIGHTS[Role.STOREKEEPER])

    assert ok(take_on(client, "storekeeper"), 201)["roles"] == ["storekeeper"]


def test_it_is_not_answered_with_what_a_wider_one_was_answered(house: House, api: dict[str, Api]) -> None:
    wide = token(house.people["counter"], "see", "keep customers")
    equal, narrow = (
        token(house.people["counter"], "keep customers", "see"),
        token(house.people["counter"], "see"),
    )
    first = post(wide)
    assert first.status_code == 201

    with nothing_changes():
        answer = post(narrow)
        page = api["counter"].post("customers", CUSTOMER, key="k")
        again = post(equal)

    assert codes(answer, 422) == []
    assert first.json()["uid"] not in answer.content.decode()
    assert page.status_code == 422, "somebody signed in may do more than the token"
    assert (again.status_code, again["Idempotent-Replay"]) == (201, "true"), "the same rights, another token"
